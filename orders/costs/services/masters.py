"""Funds, awards and what people are paid."""

from datetime import date

from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Award, Fund, PayRate
from orders.crews.models import Person


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


@writing()
def pay_rate_set(*, stamp: Stamp, person: Person, from_day: date, rate_e4: int) -> PayRate:
    """Set what a person costs an hour from a day on. The change record says that it changed, never the rate."""
    found = Findings()
    found.money(rate_e4, "rate_e4")
    taken = PayRate.objects.filter(person=person, from_day=from_day, role__isnull=True).exists()
    found.need(not taken, "from_day", "This person has a rate from that day already.")
    row = PayRate(person=person, from_day=from_day, rate_e4=rate_e4)
    return row_add(row, stamp=stamp, verb="pay_rate_set", findings=found, leave_out={"rate_e4"})
