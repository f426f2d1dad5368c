"""What a season's plan is made from and what it says: visits, crews, assignments, and what was left out and why.

Hours are person-hours. A crew's day holds `people` x `hours_a_day`; driving to a site takes the round trip for every
person of the crew, once per crew, site and day.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property

from estimating.errors import InvalidFact, UnknownCode
from estimating.pricing import split_cents
from estimating.units import MINUTES_PER_HOUR


@dataclass(frozen=True, kw_only=True)
class VisitNeed:
    """One crew-day's work at most: what it takes, where, when it may be done, and what doing it is worth."""

    id: str
    prescription: str
    site: str
    hours: float
    first_day: date
    last_day: date
    value_cents: int
    skills: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        object.__setattr__(self, "skills", frozenset(self.skills))
        if not 0 < self.hours < float("inf"):
            raise InvalidFact(f"{self.id}: must be above 0", "hours")
        if self.last_day < self.first_day:
            raise InvalidFact(f"{self.id}: must not be before the first day", "last_day")
        if self.value_cents < 0:
            raise InvalidFact(f"{self.id}: must be 0 or more", "value_cents")


@dataclass(frozen=True, kw_only=True)
class CrewSupply:
    """A crew: its people, their hours a day on the road and at work, skills, days off and standard cost."""

    id: str
    people: int
    hours_a_day: float
    cost_cents_per_hour: int
    skills: frozenset[str] = frozenset()
    days_off: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        object.__setattr__(self, "skills", frozenset(self.skills))
        object.__setattr__(self, "days_off", frozenset(self.days_off))
        if self.people < 1:
            raise InvalidFact(f"{self.id}: a crew has at least one person", "people")
        if not 0 < self.hours_a_day <= 24:
            raise InvalidFact(f"{self.id}: must be above 0 and at most 24", "hours_a_day")
        if self.cost_cents_per_hour < 0:
            raise InvalidFact(f"{self.id}: must be 0 or more", "cost_cents_per_hour")

    @property
    def day_hours(self) -> float:
        """Person-hours of a day."""
        return self.people * self.hours_a_day


def _unique(name: str, ids: Iterable[str]) -> None:
    seen: set[str] = set()
    for found in ids:
        if found in seen:
            raise InvalidFact(f"{found!r} stands there twice", name)
        seen.add(found)


@dataclass(frozen=True, kw_only=True)
class PlanInput:
    """A season to plan. `drive_minutes` is the round trip to each site; `days_off` are days on which nobody works;
    `closed_days` by site are days on which nobody may work there."""

    first_day: date
    last_day: date
    visits: tuple[VisitNeed, ...]
    crews: tuple[CrewSupply, ...]
    drive_minutes: Mapping[str, float]
    days_off: frozenset[date] = frozenset()
    closed_days: Mapping[str, frozenset[date]] = field(default_factory=dict)
    budget_cents: int | None = None

    def __post_init__(self) -> None:
        for name in ("visits", "crews"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
            _unique(name, (entry.id for entry in getattr(self, name)))
        object.__setattr__(self, "days_off", frozenset(self.days_off))
        if self.last_day < self.first_day:
            raise InvalidFact("must not be before the first day", "last_day")
        for visit in self.visits:
            if visit.site not in self.drive_minutes:
                raise UnknownCode(f"{visit.id}: no drive time to site {visit.site!r}", "drive_minutes")
        for site in self.closed_days:
            if site not in self.drive_minutes:
                raise UnknownCode(f"no drive time to site {site!r}", "closed_days")
        if any(not 0 <= minutes < float("inf") for minutes in self.drive_minutes.values()):
            raise InvalidFact("must be 0 or more", "drive_minutes")

    @cached_property
    def days(self) -> tuple[date, ...]:
        """All days of the season, worked or not."""
        return tuple(
            self.first_day + timedelta(days=offset) for offset in range((self.last_day - self.first_day).days + 1)
        )

    def drive_hours(self, crew: CrewSupply, site: str) -> float:
        """Person-hours a crew drives to a site and back."""
        return crew.people * self.drive_minutes[site] / MINUTES_PER_HOUR

    def able(self, visit: VisitNeed) -> tuple[CrewSupply, ...]:
        """Crews that have all skills of a visit."""
        return tuple(crew for crew in self.crews if visit.skills <= crew.skills)


@dataclass(frozen=True)
class Assignment:
    """A visit given to a crew on a day."""

    visit: str
    crew: str
    day: date


@dataclass(frozen=True)
class LeftOut:
    """A visit that is not in the plan, and the constraint that kept it out."""

    visit: str
    constraint: str
    because: str


@dataclass(frozen=True)
class Plan:
    """A season's plan; `stopped`: the caller ended the search early, and this is the best found by then."""

    assignments: tuple[Assignment, ...]
    left_out: tuple[LeftOut, ...]
    cost_cents: int
    value_cents: int
    rounds: int
    stopped: bool = field(default=False)


def split_hours(hours: float, most_hours: float) -> tuple[float, ...]:
    """Equal parts of at most `most_hours`, as few as possible."""
    if not 0 < most_hours < float("inf"):
        raise InvalidFact("must be above 0", "most_hours")
    parts = max(1, -int(-(hours / most_hours) // 1))
    return (hours / parts,) * parts


def split_visit(visit: VisitNeed, most_hours: float) -> tuple[VisitNeed, ...]:
    """A big visit as several of at most `most_hours` with the same window; the value is shared to the cent."""
    hours = split_hours(visit.hours, most_hours)
    if len(hours) == 1:
        return (visit,)
    values = split_cents(visit.value_cents, [1] * len(hours))
    return tuple(
        replace(visit, id=f"{visit.id}/{number}", hours=part, value_cents=value)
        for number, (part, value) in enumerate(zip(hours, values, strict=True), start=1)
    )


def split_long_visits(plan_input: PlanInput) -> PlanInput:
    """Each visit cut so that the smallest crew able to do it can do a part in one day.

    A visit that no crew is able to do, or whose drive takes the whole day, stays as it is, for the plan to say so.
    """
    visits: list[VisitNeed] = []
    for visit in plan_input.visits:
        days = [crew.day_hours - plan_input.drive_hours(crew, visit.site) for crew in plan_input.able(visit)]
        days = [hours for hours in days if hours > 0]
        visits.extend(split_visit(visit, min(days)) if days else (visit,))
    return replace(plan_input, visits=tuple(visits))
