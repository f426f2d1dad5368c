"""The recommended prescriptions of a season: which method, in which window, and why."""

from collections.abc import Mapping, Sequence

import numpy as np

from estimating.columns import Known
from estimating.suitability import Suitability
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import Estimate
from orders.estimates.services import survey_suitability
from orders.planning.models import Prescription, Season
from orders.planning.selectors import estimates_by_method, prescriptions
from orders.planning.services import prescription_add
from orders.planning.windows import SeasonWindows
from orders.sites.models import Survey
from orders.sites.selectors import surveys_current


@writing()
def prescribe_recommended(*, season: Season, repeat_years: Mapping[int, int], stamp: Stamp) -> list[Prescription]:
    """One prescription for each method that is recommended on a patch and not asked for there yet.

    A patch whose recommendation waits for the survey, has no estimate or no open window is left alone; its suitability
    page says why.
    """
    surveys = list(surveys_current())
    suited = survey_suitability(surveys, repeat_years)
    made = estimates_by_method(surveys)
    asked = set(prescriptions(season).exclude(state="dropped").values_list("patch_id", "method__code"))
    windows = SeasonWindows(season)
    return [
        prescription
        for (row, code), why in methods_recommended(surveys, suited).items()
        if (surveys[row].patch_id, code) not in asked and (surveys[row].pk, code) in made
        for prescription in _prescribe(windows, surveys[row], made[surveys[row].pk, code], why, stamp)
    ]


def methods_recommended(surveys: Sequence[Survey], suited: Suitability) -> dict[tuple[int, str], str]:
    """The recommended methods by survey, with the reason of the first component that asks for each."""
    chosen: dict[tuple[int, str], str] = {}
    for component in np.flatnonzero(suited.recommended >= 0):
        method = int(suited.recommended[component])
        if suited.fits[component, method] == Known.YES:
            row = int(suited.site.components.patch_index[component])
            chosen.setdefault((row, suited.methods.codes[method]), suited.why(int(component)))
    return dict(sorted(chosen.items()))


def _prescribe(
    windows: SeasonWindows, survey: Survey, estimate: Estimate, why: str, stamp: Stamp
) -> list[Prescription]:
    days = windows.days(survey, estimate.method.code)
    if days is None:
        return []
    prescription = prescription_add(
        season=windows.season,
        estimate=estimate,
        first_day=days.first,
        last_day=days.last,
        window_because=days.because,
        why=why,
        stamp=stamp,
    )
    return [prescription]
