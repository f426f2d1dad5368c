"""Indirect cost of awards: posted by month, and where the month's figure has changed since, taken back and posted
anew."""

from datetime import date

from django.db.models import Max

from orders.common.changes import changes_record
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.indirect_base import (
    KIND,
    MonthIndirect,
    indirect_source,
    indirect_standing,
    month_end,
    month_indirect,
)
from orders.costs.models import Award, LedgerEntry
from orders.costs.services.charging import entries_post
from orders.costs.services.entries import WHOLE_E4, Cost, Payer, entries_make, entries_reverse


@writing()
def indirect_post(*, month: date, stamp: Stamp) -> list[LedgerEntry]:
    """Bring each award's indirect cost of a posting month to what its base makes it. Returns the rows posted anew.

    Of a closed month, what was left out, or what new terms make of it, is posted to the first open month after it.
    """
    if month.day != 1:
        raise Invalid("Name a month.", [FieldError("month", "must be the first day of a month")])
    posted = []
    for award in Award.objects.select_related("fund").order_by("code"):
        posted += _award_post(award, month, stamp)
    return posted


def _award_post(award: Award, month: date, stamp: Stamp) -> list[LedgerEntry]:
    found = month_indirect(award, month)
    standing = list(indirect_standing(award, month))
    if sum(row.amount_cents for row in standing) == found.cents:
        return []
    entries_reverse(standing, posted_on=month, stamp=stamp)
    changes_record(stamp=stamp, verb="indirect_post", written=[(award, {"month": f"{month:%Y-%m}"})])
    if not found.cents:
        return []
    known = LedgerEntry.objects.filter(source_kind=KIND, source_id=indirect_source(award, month))
    revision = (known.aggregate(last=Max("revision"))["last"] or 0) + 1
    cost = _cost(award, found)
    payers = [Payer(award.fund, award, WHOLE_E4)]
    rows = entries_make(cost, payers, revision=revision, posted_on=month, reason=stamp.reason, stamp=stamp)
    return entries_post(rows, stamp=stamp)


def _cost(award: Award, found: MonthIndirect) -> Cost:
    """Its day lies in the period of performance also where costs were posted after the award ended."""
    day = max(award.first_day, min(month_end(found.month), award.last_day))
    return Cost(
        category="indirect",
        amount_cents=found.cents,
        quantity=found.base_cents,
        unit="cent",
        rate_e4=found.indirect_e4,
        rate_origin="amount",
        source_kind=KIND,
        source_id=indirect_source(award, found.month),
        work_date=day,
    )
