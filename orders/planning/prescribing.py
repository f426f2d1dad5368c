"""The recommended prescriptions of a season: which method, in which window, and why."""

from collections.abc import Mapping

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import Estimate
from orders.estimates.services import survey_suitability
from orders.planning.chains import follow_ups_prescribe
from orders.planning.models import Prescription, Season
from orders.planning.recommending import methods_recommended
from orders.planning.renewing import windows_renew
from orders.planning.selectors import estimates_by_method, prescriptions
from orders.planning.services import prescription_add
from orders.planning.terms import SeasonTerms
from orders.planning.windows import SeasonWindows
from orders.sites.models import Survey
from orders.sites.selectors import surveys_current


@writing()
def prescribe_recommended(*, season: Season, repeat_years: Mapping[int, int], stamp: Stamp) -> list[Prescription]:
    """One prescription for each method that is recommended on a patch and not asked for there yet, and what follows
    the season's work in chains.

    Windows of what is asked for already are brought up to date. A patch whose recommendation waits for the survey, has
    no estimate or no open window is left alone; its suitability page says why.
    """
    surveys = list(surveys_current())
    suited = survey_suitability(surveys, repeat_years)
    made = estimates_by_method(surveys)
    standing = prescriptions(season).exclude(state="dropped").exclude(origin="follow_up")
    asked = set(standing.values_list("patch_id", "method__code"))
    windows = SeasonWindows(season)
    terms = SeasonTerms(windows)
    windows_renew(terms=terms, stamp=stamp)
    firsts = [
        prescription
        for (row, code), why in methods_recommended(surveys, suited).items()
        if (surveys[row].patch_id, code) not in asked and (surveys[row].pk, code) in made
        for prescription in _prescribe(terms, surveys[row], made[surveys[row].pk, code], why, stamp)
    ]
    return [*firsts, *follow_ups_prescribe(season=season, windows=windows, stamp=stamp)]


def _prescribe(terms: SeasonTerms, survey: Survey, estimate: Estimate, why: str, stamp: Stamp) -> list[Prescription]:
    days = terms.windows.days(survey, estimate.method.code)
    if days is None:
        return []
    agreed = terms.terms(survey, estimate.method, days)
    prescription = prescription_add(
        season=terms.windows.season,
        estimate=estimate,
        first_day=agreed.first_day,
        last_day=agreed.last_day,
        window_because=agreed.window_because,
        why=why,
        stamp=stamp,
        fund=agreed.fund,
        seed_due_on=agreed.seed_due_on,
    )
    return [prescription]
