"""The seed deadline of one component: its inputs, and what follows from them on a day. No database here.

The deadline of a year rests on the newest survey up to its due day: a survey made later tells of the next year, save
that fruit seen makes this year's late. So what was met or missed stays so when the patch is surveyed again in the fall.
"""

import hashlib
from dataclasses import dataclass
from datetime import date

from estimating.columns import Known
from estimating.inputs import GROWTH_FORMS
from estimating.season_calendar import CalendarDay, Margins, SeasonCalendar
from estimating.seeds import SeedDeadline, SeedFacts, season_of, seed_deadline
from orders.reminders.models import ENDED, LATE, MET, MISSED, OPEN

KNOWN = {"yes": Known.YES, "no": Known.NO, "unknown": Known.UNKNOWN}
MARGINS = Margins()
RULES = 2  # raised when the rules below change, so that every row is computed again

MonthDay = tuple[int, int]


@dataclass(frozen=True)
class Sighting:
    """One survey's word on the component; `fertile` is "no" where the survey does not show it at all. `condition`:
    flowers, fruit or none of both, as seen that day, or unknown."""

    survey_id: int
    observed_on: date
    fertile: str
    condition: str = "unknown"

    @property
    def may_fruit(self) -> bool:
        return self.fertile != "no" or self.condition in {"flowers", "fruit"}


@dataclass(frozen=True)
class FruitRange:
    """First and last day on which the species bears fruit, as (month, day); the range may cross the new year."""

    first: MonthDay
    last: MonthDay

    def holds(self, day: date, year: int) -> bool:
        """Is the day within the year and within the range that begins in it?"""
        month_day = (day.month, day.day)
        ended = self.first <= self.last < month_day
        return day.year == year and self.first <= month_day and not ended


@dataclass(frozen=True)
class SeedInputs:
    """All that the deadline depends on, but for the day on which it is asked.

    `sightings` newest first; `removed_on`: days of the year on which work that removes fruit was complete.
    """

    year: int
    species: str
    growth_form: str
    fruits: FruitRange | None
    sightings: tuple[Sighting, ...]
    removed_on: tuple[date, ...]
    flowers_first: MonthDay | None = None
    flower_to_fruit_days: int | None = None

    def fingerprint(self, *, is_past: bool) -> str:
        """`is_past`: the due day is over, the only thing that the passing of time changes."""
        facts = (RULES, MARGINS.before_fruit_days, is_past, self)
        return hashlib.sha256(repr(facts).encode()).hexdigest()

    def deadline(self, fertile: str, fruit_seen_on: date | None = None, *, by_flowers: bool = True) -> SeedDeadline:
        """The day by the fruiting range, or sooner by flowers that were seen, less the margin. Only for a species of
        known range."""
        assert self.fruits is not None
        flowers = None if self.flowers_first is None else _calendar_day(self.flowers_first)
        calendar = SeasonCalendar(fruiting_first=_calendar_day(self.fruits.first), flowering_first=flowers)
        form = GROWTH_FORMS.index(self.growth_form)
        flowering = [sighting for sighting in self.sightings if by_flowers and sighting.condition == "flowers"]
        seen = [None, *(sighting.observed_on for sighting in flowering)]
        facts = [
            SeedFacts(
                growth_form=form,
                fertile=KNOWN[fertile],
                fruit_seen_on=fruit_seen_on,
                flowers_seen_on=on,
                flower_to_fruit_days=self.flower_to_fruit_days,
            )
            for on in seen
        ]
        found = seed_deadline(facts, calendar, self.year, MARGINS)
        assert found is not None  # a form that fruits, and not known to be sterile
        return found

    @property
    def may_fruit(self) -> bool:
        """By the newest survey."""
        return any(sighting.may_fruit for sighting in self.sightings[:1])

    def shows_fruit(self, sighting: Sighting) -> bool:
        """Fruit of this year, as the survey says; where it does not, a fertile plant while the species bears fruit."""
        assert self.fruits is not None
        if sighting.condition == "fruit":
            return season_of(sighting.observed_on, _calendar_day(self.fruits.first)) == self.year
        told = sighting.condition == "unknown" and sighting.fertile == "yes"
        return told and self.fruits.holds(sighting.observed_on, self.year)

    def removed_since(self, day: date) -> date | None:
        return min((done for done in self.removed_on if done >= day), default=None)


@dataclass(frozen=True)
class SeedResult:
    """What the row is to say; where nothing is owed, it keeps the day and the survey that it had."""

    state: str
    because: str
    survey_id: int | None = None
    due_on: date | None = None
    done_on: date | None = None


def seed_result(inputs: SeedInputs, today: date) -> SeedResult:
    """The state of the deadline on a day at the site."""
    if inputs.fruits is None:
        return SeedResult(ENDED, f"Nobody has entered when {inputs.species} fruits.")
    fruit = _fruit_seen(inputs)
    if fruit is None:
        return _fruit_unseen(inputs, today)
    late = inputs.deadline("yes", fruit.observed_on)
    because = _because(inputs, fruit, late)
    return SeedResult(LATE, because, fruit.survey_id, late.due, inputs.removed_since(fruit.observed_on))


def _fruit_seen(inputs: SeedInputs) -> Sighting | None:
    """The newest survey that saw fruit, unless a newer one says that it cannot fruit."""
    for sighting in inputs.sightings:
        if not sighting.may_fruit:
            return None
        if inputs.shows_fruit(sighting):
            return sighting
    return None


def _calendar_day(month_day: MonthDay) -> CalendarDay:
    return CalendarDay(month=month_day[0], day=month_day[1], source="the species' record")


def _fruit_unseen(inputs: SeedInputs, today: date) -> SeedResult:
    """Met, open, missed or ended. A survey after the work that still finds it outranks the close-out."""
    due_on = inputs.deadline("unknown").due
    told_by = inputs.deadline("unknown", by_flowers=False).due  # flowers move the day, not which surveys tell of it
    in_time = [sighting for sighting in inputs.sightings if sighting.observed_on <= told_by]
    found = next((sighting for sighting in in_time if sighting.may_fruit), None)
    if found is None:
        return SeedResult(ENDED, "No standing survey up to the due day shows that it can fruit.")
    because = _because(inputs, found, inputs.deadline("yes" if found.condition == "flowers" else found.fertile))
    done_on = inputs.removed_since(found.observed_on)
    if done_on is not None and done_on <= due_on:
        return SeedResult(MET, because, found.survey_id, due_on, done_on)
    if found is not in_time[0]:
        return SeedResult(ENDED, f"The survey of {day_text(in_time[0].observed_on)} no longer shows that it can fruit.")
    if today <= due_on:
        return SeedResult(OPEN, because, found.survey_id, due_on)
    return SeedResult(MISSED, because, found.survey_id, due_on, done_on)


def _because(inputs: SeedInputs, sighting: Sighting, deadline: SeedDeadline) -> str:
    assert inputs.fruits is not None
    begins = day_text(date(inputs.year, *inputs.fruits.first))
    surveyed = f"Surveyed on {day_text(sighting.observed_on)}, {inputs.growth_form}: {deadline.because}."
    return f"{surveyed} {inputs.species[:1].upper()}{inputs.species[1:]} fruits from {begins}."


def day_text(day: date) -> str:
    return f"{day:%B} {day.day}, {day.year}"
