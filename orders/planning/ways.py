"""In which way a prescription is done: as it says, or, in a what-if, by another method."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from estimating.columns import Known
from estimating.suitability import Suitability
from orders.estimates.models import Estimate, Method
from orders.estimates.services import survey_suitability
from orders.planning.models import Prescription, Season
from orders.planning.selectors import estimates_by_method
from orders.planning.windows import Days, SeasonWindows
from orders.sites.models import Survey
from orders.sites.selectors import surveys_current


@dataclass(frozen=True)
class Way:
    estimate: Estimate
    method: Method
    first_day: date
    last_day: date


@dataclass(frozen=True)
class NoWay:
    """What cannot be done at all under what is assumed, and why."""

    prescription: Prescription
    way: Way
    hours: float
    constraint: str
    because: str


def usual_way(asked: Prescription) -> Way:
    return Way(asked.estimate, asked.method, asked.first_day, asked.last_day)


def ways_without_herbicide(season: Season, asked: Sequence[Prescription]) -> tuple[dict[int, Way], tuple[NoWay, ...]]:
    """By prescription: work with herbicide goes to the cheapest other method that fits the patch, has an estimate and a
    window; where none is, there is no way."""
    sprayed = [row for row in asked if row.method.uses_herbicide]
    ways = {row.pk: usual_way(row) for row in asked if not row.method.uses_herbicide}
    if not sprayed:
        return ways, ()
    others = _Others(season, sprayed)
    no_way = []
    for row in sprayed:
        other = others.cheapest(row)
        if other is None:
            because = "Without herbicide no other method fits here with an estimate and an open window."
            no_way.append(NoWay(row, usual_way(row), row.estimate.person_hours * row.share_left, "method", because))
        else:
            ways[row.pk] = other
    return ways, tuple(no_way)


class _Others:
    """What else fits on the surveyed ground of some prescriptions."""

    def __init__(self, season: Season, asked: Sequence[Prescription]) -> None:
        self.surveys: list[Survey] = list(
            surveys_current().filter(pk__in={row.estimate.survey_id for row in asked}).defer("patch__site__boundary")
        )
        self.row = {survey.pk: number for number, survey in enumerate(self.surveys)}
        years = {row.patch_id: row.estimate.repeat_year for row in asked}
        self.suited: Suitability = survey_suitability(self.surveys, years)
        self.made = estimates_by_method(self.surveys)
        self.windows = SeasonWindows(season)

    def cheapest(self, asked: Prescription) -> Way | None:
        number = self.row.get(asked.estimate.survey_id)
        if number is None:
            return None  # surveyed anew since: what fits there is the new survey's to say
        survey = self.surveys[number]
        found = [
            (estimate, days)
            for (survey_id, code), estimate in self.made.items()
            if survey_id == survey.pk and self._fits(number, estimate) and (days := self._days(survey, code))
        ]
        if not found:
            return None
        estimate, days = min(found, key=lambda entry: (entry[0].total_cents, entry[0].method.code))
        return Way(estimate, estimate.method, days.first, days.last)

    def _fits(self, number: int, estimate: Estimate) -> bool:
        method = estimate.method
        if method.uses_herbicide or method.code == "monitor" or method.code not in self.suited.methods.codes:
            return False
        verdict, _ = self.suited.method_on_patch(number, self.suited.methods.codes.index(method.code))
        return verdict == Known.YES

    def _days(self, survey: Survey, code: str) -> Days | None:
        return self.windows.days(survey, code)
