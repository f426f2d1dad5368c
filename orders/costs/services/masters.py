"""Funds and awards."""

from datetime import date

from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Award, Fund


@writing()
def fund_add(*, stamp: Stamp, code: str, name: str, budget_cents: int | None = None, is_suspense: bool = False) -> Fund:
    """Add a fund. One at most is the suspense fund, where a charge waits that no other fund may take."""
    found = Findings()
    if budget_cents is not None:
        found.money(budget_cents, "budget_cents")
    second = is_suspense and Fund.objects.filter(is_suspense=True).exists()
    found.need(not second, "is_suspense", "There is a suspense fund already.")
    row = Fund(code=code, name=name, budget_cents=budget_cents, is_suspense=is_suspense)
    return row_add(row, stamp=stamp, verb="fund_add", findings=found)


@writing()
def award_add(
    *, stamp: Stamp, fund: Fund, code: str, name: str, first_day: date, last_day: date, ceiling_cents: int
) -> Award:
    """Add an award with its period of performance and its ceiling."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    found.money(ceiling_cents, "ceiling_cents")
    found.need(not fund.is_suspense, "fund", "The suspense fund has no awards.")
    row = Award(fund=fund, code=code, name=name, first_day=first_day, last_day=last_day, ceiling_cents=ceiling_cents)
    return row_add(row, stamp=stamp, verb="award_add", findings=found)
