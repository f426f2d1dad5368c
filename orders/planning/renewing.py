"""Windows of work that is asked for already, brought up to what records, closures, labels and surveys say now."""

from orders.common.changes import change_record, version_bump
from orders.common.rows import plain_values
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.chains import follow_ups_renew
from orders.planning.models import Prescription
from orders.planning.terms import SeasonTerms


@writing()
def windows_renew(*, terms: SeasonTerms, stamp: Stamp) -> list[Prescription]:
    """First work that is not done and was not chosen by hand, and what follows it; returns what was changed.

    Work whose method has no open window any more keeps its days: its season's page says why none is open. A fund that
    was set by hand keeps its days too.
    """
    asked = Prescription.objects.filter(
        season=terms.windows.season, origin="survey", is_own_choice=False, state__in=["open", "planned", "ordered"]
    )
    parts = [f"estimate__survey__components__{name}" for name in ("species", "growth_form")]
    asked = asked.select_related("estimate__survey__patch__site", "method", "season", "fund").prefetch_related(*parts)
    changed = []
    for row in asked.defer("estimate__inputs", "estimate__result", "estimate__products_ul").order_by("id"):
        if _renewed(row, terms, stamp):
            changed += [row, *follow_ups_renew(first=row, terms=terms, stamp=stamp)]
    return changed


def _renewed(row: Prescription, terms: SeasonTerms, stamp: Stamp) -> bool:
    survey = row.estimate.survey
    days = terms.windows.days(survey, row.method.code)
    if days is None:
        return False
    agreed = terms.terms(survey, row.method, days)
    values = {
        "first_day": agreed.first_day,
        "last_day": agreed.last_day,
        "window_because": agreed.window_because,
        "seed_due_on": agreed.seed_due_on,
    }
    if agreed.fund != row.fund or all(getattr(row, name) == value for name, value in values.items()):
        return False
    before = plain_values(version_bump(row, expected=None, **values))
    change_record(stamp=stamp, verb="prescription_renew", entity=row, before=before, after=plain_values(values))
    return True
