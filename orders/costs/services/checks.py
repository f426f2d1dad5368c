"""May a fund or award take a charge? The period of performance, the categories that the terms allow and the ceiling are
the funder's and nobody passes them; budgets are the program's own."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Q, Sum

from orders.costs.fund_selectors import CATEGORY_NAMES, award_term, budget_name
from orders.costs.models import Award, AwardTerm, Budget, Fund, LedgerEntry


@dataclass(frozen=True)
class Charge:
    """What somebody is asked to pay. `month` is the first day of the posting month, where one is known."""

    fund: Fund
    award: Award | None
    category: str
    work_date: date
    cents: int
    site_code: str = ""
    month: date | None = None


@dataclass(frozen=True)
class ChargeProblem:
    """Why not. `field` is the one of a bill's or a purchase order's line that is to blame."""

    code: str
    message: str
    field: str
    is_mandatory: bool = False


@dataclass
class Spent:
    """What stands in the ledger, read once for each sum, and what the same posting has added since. Only under the
    write lock is it still true when the rows are saved."""

    cents: dict[tuple[object, ...], int] = field(default_factory=dict)
    terms: dict[tuple[int, date], AwardTerm | None] = field(default_factory=dict)
    budgets: dict[int, list[Budget]] = field(default_factory=dict)

    def of_award(self, award: Award) -> int:
        return self._sum(("award", award.pk), Q(award=award))

    def of_fund(self, fund: Fund) -> int:
        return self._sum(("fund", fund.pk), Q(fund=fund))

    def of_budget(self, budget: Budget) -> int:
        return self._sum(("budget", budget.pk), budget_rows(budget))

    def term(self, award: Award, on: date) -> AwardTerm | None:
        key = award.pk, on
        if key not in self.terms:
            self.terms[key] = award_term(award, on)
        return self.terms[key]

    def budgets_of(self, charge: Charge) -> list[Budget]:
        """The fund's budgets that the charge falls under."""
        if charge.fund.pk not in self.budgets:
            rows = Budget.objects.filter(fund=charge.fund).select_related("site", "award")
            self.budgets[charge.fund.pk] = list(rows)
        return [budget for budget in self.budgets[charge.fund.pk] if _falls_under(charge, budget)]

    def add(self, charge: Charge) -> None:
        keys: list[tuple[object, ...]] = [("fund", charge.fund.pk)]
        keys += [("award", charge.award.pk)] if charge.award else []
        keys += [("budget", budget.pk) for budget in self.budgets_of(charge)]
        for key in keys:
            if key in self.cents:
                self.cents[key] += charge.cents

    def _sum(self, key: tuple[object, ...], rows: Q) -> int:
        if key not in self.cents:
            found = LedgerEntry.objects.filter(rows, book="cost").aggregate(cents=Sum("amount_cents"))
            self.cents[key] = int(found["cents"] or 0)
        return self.cents[key]


def budget_rows(budget: Budget) -> Q:
    """The rows that count against a budget. An empty field means all of them."""
    rows = Q(fund=budget.fund_id)
    if budget.award_id:
        rows &= Q(award=budget.award_id)
    if budget.site:
        rows &= Q(site_code=budget.site.code)
    if budget.category:
        rows &= Q(category=budget.category)
    if budget.month:
        rows &= Q(posting_month=budget.month)
    return rows


def _falls_under(charge: Charge, budget: Budget) -> bool:
    pairs = (
        (budget.award_id, charge.award.pk if charge.award else None),
        (budget.site.code if budget.site else None, charge.site_code),
        (budget.category, charge.category),
        (budget.month, charge.month),
    )
    return all(not wanted or wanted == given for wanted, given in pairs)


def charge_check(charge: Charge, *, spent: Spent | None = None, budgets: bool = True) -> ChargeProblem | None:
    """The first reason why the payer may not take it, or nothing. The caller holds the write lock where it posts.
    `budgets`: whether the program's own limits are asked too."""
    sums = spent or Spent()
    for problem in _award_problems(charge, sums):
        return problem
    for problem in _budget_problems(charge, sums) if budgets else ():
        return problem
    return None


def _award_problems(charge: Charge, spent: Spent) -> Iterable[ChargeProblem]:
    award = charge.award
    if award is None:
        return
    if not award.first_day <= charge.work_date <= award.last_day:
        period = f"{award.first_day} to {award.last_day}"
        message = f"{charge.work_date} is outside the period of performance of {award.code}, {period}."
        yield ChargeProblem("outside-period", message, "award", is_mandatory=True)
    term = spent.term(award, charge.work_date)
    if term and not _allows(term, charge.category):
        name = CATEGORY_NAMES[charge.category].lower()
        message = f"The terms of {award.code} from {term.from_day} allow no {name}."
        yield ChargeProblem("not-allowed", message, "category", is_mandatory=True)
    left = award.ceiling_cents - spent.of_award(award)
    if charge.cents > max(left, 0):
        yield ChargeProblem("over-ceiling", _over(f"{award.code} has", left, charge, "ceiling"), "amount_cents", True)


def _allows(term: AwardTerm, category: str) -> bool:
    """None named: all. Indirect cost is allowed by its rate."""
    allowed = term.allowed_categories
    return not allowed or category in allowed or (category == "indirect" and term.indirect_base != "none")


def _budget_problems(charge: Charge, spent: Spent) -> Iterable[ChargeProblem]:
    for budget in spent.budgets_of(charge):
        left = budget.amount_cents - spent.of_budget(budget)
        if charge.cents > max(left, 0):
            message = _over(f"The budget of {budget_name(budget)} has", left, charge, "amount")
            yield ChargeProblem("over-budget", message, "amount_cents")
    if charge.fund.budget_cents is not None:
        left = charge.fund.budget_cents - spent.of_fund(charge.fund)
        if charge.cents > max(left, 0):
            message = _over(f"{charge.fund.code} has", left, charge, "budget")
            yield ChargeProblem("over-fund-budget", message, "amount_cents")


def _over(whose: str, left: int, charge: Charge, limit: str) -> str:
    return f"{whose} ${max(left, 0) / 100:,.2f} left of its {limit}; this is ${charge.cents / 100:,.2f}."
