"""What the ledger has of people's pay in a pay period: costs that wait in payroll clearing, and who bears them."""

from collections import Counter, defaultdict

from django.db.models import Sum

from orders.costs.models import LedgerEntry, PayPeriod

FundKey = tuple[int, int | None]  # fund, award


def labor_by_fund(period: PayPeriod) -> dict[int, Counter[FundKey]]:
    """Cents of labor and overtime premium by person and payer, reversals counted against; nobody else has any."""
    rows = LedgerEntry.objects.filter(
        book="cost",
        credit="clear-payroll",
        work_date__range=(period.first_day, period.last_day),
        person__isnull=False,
    )
    summed = rows.order_by("fund", "award").values_list("person", "fund", "award").annotate(cents=Sum("amount_cents"))
    found: dict[int, Counter[FundKey]] = defaultdict(Counter)
    for person, fund, award, cents in summed:
        found[person][fund, award] = int(cents)
    return found
