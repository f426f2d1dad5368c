"""What is left to spend: budgets less what was spent and what is committed, by fund, award and budget."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Prefetch, Q, Sum

from orders.common.models import User
from orders.costs.fund_selectors import budget_name
from orders.costs.models import Award, Budget, Commitment, Fund, LedgerEntry
from orders.costs.selectors import costs_open_to

# work that is under way: what a closed order was planned to cost is no longer to come
OPEN_ORDERS = ("issued", "underway")
BUDGET_ORDER = "award__code", "site__code", "category", "month", "id"
KEY = "fund_id", "award_id", "site_code", "category", "posting_month"
Key = tuple[int, int | None, str, str, date]
Sums = Mapping[Key, int]


@dataclass(frozen=True)
class Spending:
    """One fund, award or budget. `limit_cents` is None where nothing limits it."""

    kind: str  # fund, award, budget
    name: str
    fund: Fund
    award: Award | None
    budget: Budget | None
    limit_cents: int | None
    actual_cents: int
    committed_cents: int

    @property
    def left_cents(self) -> int | None:
        return None if self.limit_cents is None else self.limit_cents - self.actual_cents - self.committed_cents

    @property
    def used_percent(self) -> int:
        """Spent and committed, of the limit; 0 where there is none."""
        return round(100 * (self.actual_cents + self.committed_cents) / self.limit_cents) if self.limit_cents else 0

    @property
    def is_overspent(self) -> bool:
        return self.left_cents is not None and self.left_cents < 0


def left_to_spend(actor: User, *, fund: Fund | None = None) -> list[Spending]:
    """Each fund with its awards and its budgets under it: limit - actual - committed = left."""
    costs_open_to(actor)
    chosen = Fund.objects.filter(pk=fund.pk) if fund else Fund.objects.all()
    budgets = Budget.objects.select_related("fund", "award", "site").order_by(*BUDGET_ORDER)
    read = chosen.prefetch_related("awards", Prefetch("budgets", queryset=budgets))
    funds = list(read.order_by("is_suspense", "code"))
    actual, committed = _actual(fund), _committed(fund)
    rows = []
    for one in funds:
        rows.append(_row(Spending("fund", one.name, one, None, None, one.budget_cents, 0, 0), actual, committed))
        for award in sorted(one.awards.all(), key=lambda award: award.code):
            line = Spending("award", award.name, one, award, None, award.ceiling_cents, 0, 0)
            rows.append(_row(line, actual, committed))
        for budget in one.budgets.all():
            line = Spending("budget", budget_name(budget), one, budget.award, budget, budget.amount_cents, 0, 0)
            rows.append(_row(line, actual, committed))
    return rows


def _row(line: Spending, actual: Sums, committed: Sums) -> Spending:
    return replace(line, actual_cents=_summed(line, actual), committed_cents=_summed(line, committed))


def _summed(line: Spending, sums: Sums) -> int:
    return sum(cents for key, cents in sums.items() if _counts(line, key))


def _counts(line: Spending, key: Key) -> bool:
    fund_id, award_id, site_code, category, month = key
    if fund_id != line.fund.pk or (line.award and award_id != line.award.pk):
        return False
    budget = line.budget
    if budget is None:
        return True
    pairs = (
        (budget.site.code if budget.site else None, site_code),
        (budget.category, category),
        (budget.month, month),
    )
    return all(not wanted or wanted == given for wanted, given in pairs)


def _actual(fund: Fund | None) -> Sums:
    rows = LedgerEntry.objects.filter(_of(fund), book="cost").values_list(*KEY).order_by()
    return _by_key(rows.annotate(cents=Sum("amount_cents")))


def _committed(fund: Fund | None) -> Sums:
    """Reversing rows are in the sum, so that it is what stands. Purchases are let go of by their own bills."""
    open_rows = Q(purchase_line__isnull=False) | Q(order__state__in=OPEN_ORDERS)
    rows = Commitment.objects.filter(_of(fund) & open_rows).values_list(*KEY).order_by()
    return _by_key(rows.annotate(cents=Sum("amount_cents")))


def _of(fund: Fund | None) -> Q:
    return Q(fund=fund) if fund else Q()


def _by_key(rows: Iterable[tuple[int, int | None, str, str, date, int]]) -> Sums:
    return {(f, a, site, category, month): int(cents or 0) for f, a, site, category, month, cents in rows}
