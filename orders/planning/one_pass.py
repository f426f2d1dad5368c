"""What is saved where chosen methods on the same ground are worked in one pass: the ground is searched once."""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import shapely
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from estimating.columns import FloatArray
from estimating.errors import EstimatingError
from orders.estimates import convert
from orders.estimates.selectors import methods
from orders.planning.models import Prescription, Season
from orders.planning.options import rate_book_held
from orders.planning.selectors import prescriptions_standing
from orders.sites.models import Patch, Survey
from orders.sites.overlaps import meters_a_degree
from orders.sites.selectors import surveys_current

LEAST_SHARED_M2 = 25.0  # below it two outlines were drawn at one another's edge


@dataclass(frozen=True)
class OnePass:
    """Prescriptions whose windows share the days `first` to `last`; field person-hours and money apart and together."""

    prescriptions: tuple[Prescription, ...]
    first: date
    last: date
    hours_apart: float
    hours_together: float
    cents_apart: int
    cents_together: int

    @property
    def hours_saved(self) -> float:
        return self.hours_apart - self.hours_together


def one_pass(patch: Patch, season: Season, repeat_years: Mapping[int, int], on: date) -> OnePass | None:
    """For what is chosen on a patch and on patches that overlap it; None where fewer than two share days.

    Estimated anew by the rate book of a day, each apart and all in one outing, so that the two can be compared.
    """
    asked = prescriptions_standing(season).filter(state__in=["open", "planned"], patch__site=patch.site)
    near = _near(patch, list(asked.filter(estimate__rate_book__crew_kind="staff")))
    group, first, last = _sharing_days(near)
    if len(group) < 2:
        return None
    surveys = list({row.patch_id: row.estimate.survey for row in group}.values())
    surveys = list(surveys_current().filter(pk__in=[survey.pk for survey in surveys]))
    wanted = {
        (number, row.method.code)
        for number, survey in enumerate(surveys)
        for row in group
        if row.estimate.survey_id == survey.pk
    }
    return _compared(group, first, last, surveys, wanted, repeat_years, on)


def _near(patch: Patch, asked: Sequence[Prescription]) -> list[Prescription]:
    """The patch's own first, then those on ground that it shares."""
    own = [row for row in asked if row.patch_id == patch.pk]
    if not own:
        return []
    survey = own[0].estimate.survey
    others = [
        row for row in asked if row.patch_id != patch.pk and shared_m2(survey, row.estimate.survey) > LEAST_SHARED_M2
    ]
    return [*own, *others]


def _sharing_days(asked: Sequence[Prescription]) -> tuple[tuple[Prescription, ...], date, date]:
    """The first and all that still share days with those taken before."""
    taken: list[Prescription] = []
    first, last = date.min, date.max
    for row in asked:
        begin, end = max(first, row.first_day), min(last, row.last_day)
        if begin <= end:
            taken.append(row)
            first, last = begin, end
    return tuple(taken), first, last


def _compared(
    group: tuple[Prescription, ...],
    first: date,
    last: date,
    surveys: Sequence[Survey],
    wanted: set[tuple[int, str]],
    repeat_years: Mapping[int, int],
    on: date,
) -> OnePass | None:
    book = rate_book_held(on)
    if book is None:
        return None
    asked = convert.estimate_inputs(surveys, book, list(methods()), on=on, repeat_years=repeat_years, wanted=wanted)
    if len(asked.jobs) < 2:
        return None
    outing = dataclasses.replace(
        asked.jobs,
        outing=np.zeros(len(asked.jobs), np.int64),
        search_area_m2=search_areas(asked.jobs.patch_index.tolist(), surveys),
    )
    try:
        apart, together = convert.estimated(asked), convert.estimated(dataclasses.replace(asked, jobs=outing))
    except EstimatingError:
        return None  # a price or a rate is gone: whoever makes the estimate anew is told which
    if not (apart.ok.all() and together.ok.all()):
        return None
    return OnePass(
        group,
        first,
        last,
        float(apart.time.field_person_hours.sum()),
        float(together.time.field_person_hours.sum()),
        int(apart.money.total_cents.sum()),
        int(together.money.total_cents.sum()),
    )


def search_areas(patch_of_job: Sequence[int], surveys: Sequence[Survey]) -> FloatArray:
    """Ground that each job of one outing still has to search: nothing where an earlier job has been, be it the same
    patch or ground that another patch shares."""
    searched: list[int] = []
    areas = np.zeros(len(patch_of_job))
    for job, patch in enumerate(patch_of_job):
        if patch in searched:
            continue
        shared = sum(shared_m2(surveys[patch], surveys[other]) for other in searched)
        areas[job] = max(surveys[patch].gross_area_m2 - shared, 0.0)
        searched.append(patch)
    return areas


def shared_m2(one: Survey, other: Survey) -> float:
    """Ground in both outlines, on a plane in meters around them; a point has no outline, and shares nothing."""
    if one.max_lon < other.min_lon or other.max_lon < one.min_lon:
        return 0.0
    if one.max_lat < other.min_lat or other.max_lat < one.min_lat:
        return 0.0
    east, north = meters_a_degree((one.min_lat + one.max_lat) / 2)
    first, second = (_plane(survey, east, north) for survey in (one, other))
    return float(first.intersection(second).area)


def _plane(survey: Survey, east: float, north: float) -> BaseGeometry:
    drawn = shapely.make_valid(shape(survey.geometry))
    return shapely.transform(drawn, lambda points: points * np.array([east, north]))
