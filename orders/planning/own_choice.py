"""One estimate asked for by a person's own choice: within what fits the patch and what the labels allow."""

from collections.abc import Mapping
from datetime import date

from estimating.columns import Known
from estimating.suitability import suit
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.convert import component_facts, method_table, patch_facts
from orders.estimates.models import Estimate
from orders.planning.chains import follow_ups_prescribe
from orders.planning.models import Prescription, Season
from orders.planning.preview import LabelWord
from orders.planning.services import prescription_add
from orders.planning.terms import SeasonTerms
from orders.planning.windows import Days, SeasonWindows


@writing()
def prescribe_own(
    *,
    season: Season,
    estimate: Estimate,
    first_day: date,
    last_day: date,
    window_because: str,
    why: str,
    repeat_years: Mapping[int, int],
    label_word: LabelWord,
    stamp: Stamp,
) -> Prescription:
    """A person's own choice, refused where the method does not fit the patch or a label forbids it there. Where nobody
    knows whether it fits, the reason must be given, and is the person's own. What follows it in chains is asked for
    too."""
    fits, because = estimate_fits(estimate, repeat_years)
    if fits == Known.NO:
        raise Invalid("The method does not fit this patch.", [FieldError("estimate", because, code="does_not_fit")])
    if fits == Known.UNKNOWN and not why.strip():
        message = f"is required, since it is not known whether the method fits: {because}"
        raise Invalid("Say why it is asked for all the same.", [FieldError("why", message, code="required")])
    forbidden = label_word([estimate]).get(estimate.pk, ()) if estimate.mix_id else ()
    if forbidden:
        errors = [FieldError("estimate", message, code="label") for message in forbidden]
        raise Invalid("A label forbids this mix here. Nobody may let that pass.", errors)
    if not estimate.method.is_active:
        raise Invalid("The method is no longer in use.", [FieldError("estimate", "is of a method that is not offered")])
    windows = SeasonWindows(season)
    agreed = SeasonTerms(windows).terms(estimate.survey, estimate.method, Days(first_day, last_day, window_because))
    made = prescription_add(
        season=season,
        estimate=estimate,
        first_day=agreed.first_day,
        last_day=agreed.last_day,
        window_because=agreed.window_because,
        why=why,
        is_own_choice=True,
        stamp=stamp,
        fund=agreed.fund,
        seed_due_on=agreed.seed_due_on,
    )
    follow_ups_prescribe(season=season, windows=windows, firsts=[made], stamp=stamp)
    return made


def estimate_fits(estimate: Estimate, repeat_years: Mapping[int, int]) -> tuple[Known, str]:
    """Whether its method fits the patch by the rules of today, and why not; unknown where the method's facts are not
    loaded."""
    if not estimate.method.facts:
        return Known.UNKNOWN, f"the facts of {estimate.method} are not loaded."
    surveys = [estimate.survey]
    facts = patch_facts(surveys, repeat_years), component_facts(surveys)
    fits, reasons = suit(*facts, method_table([estimate.method])).method_on_patch(0, 0)
    return fits, " ".join(dict.fromkeys(reason.text for reason in reasons))
