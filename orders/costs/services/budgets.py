"""Budgets: what may be spent of a fund or an award, in all, on a site, of a category, in a month."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from orders.common.errors import Invalid
from orders.common.rows import Findings, row_add, row_edit, row_remove
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.budget_csv import BudgetLine
from orders.costs.models import Award, Budget, Fund
from orders.sites.models import Site

ONCE = "There is a budget of the same fund, award, site, category and month already."


@writing()
def budget_add(
    *,
    fund: Fund,
    award: Award | None = None,
    site: Site | None = None,
    category: str = "",
    month: date | None = None,
    amount_cents: int,
    note: str = "",
    stamp: Stamp,
) -> Budget:
    """Add a budget; an empty field means all of them."""
    row = Budget(
        fund=fund, award=award, site=site, category=category, month=month, amount_cents=amount_cents, note=note
    )
    return row_add(row, stamp=stamp, verb="budget_add", findings=_findings(row))


@writing()
def budget_edit(*, budget: Budget, values: dict[str, Any], expected: int, stamp: Stamp) -> Budget:
    """Change what may be spent, or what of it. What is posted already stays."""
    proposed = Budget.objects.get(pk=budget.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    found = _findings(proposed)
    found.refuse("The budget was not changed.")
    return row_edit(budget, stamp=stamp, verb="budget_edit", expected=expected, values=values)


@writing()
def budget_remove(*, budget: Budget, expected: int, stamp: Stamp) -> None:
    row_remove(budget, stamp=stamp, verb="budget_remove", expected=expected)


def _findings(row: Budget) -> Findings:
    found = Findings()
    found.money(row.amount_cents, "amount_cents")
    found.need(not row.fund.is_suspense, "fund", "The suspense fund has no budget: it is to be emptied.")
    belongs = row.award is None or row.award.fund_id == row.fund_id
    found.need(belongs, "award", "The award is not paid through this fund.")
    found.need(row.month is None or row.month.day == 1, "month", "Give the first day of the month.")
    same = Budget.objects.filter(
        fund=row.fund, award=row.award, site=row.site, category=row.category, month=row.month
    ).exclude(pk=row.pk)
    found.need(not same.exists(), "fund", ONCE)
    return found


@writing()
def budgets_load(*, lines: Sequence[BudgetLine], stamp: Stamp) -> list[Budget]:
    """Add or change each budget that a file names; all of it or nothing. Budgets that it does not name stay."""
    loaded, errors = [], []
    for line in lines:
        try:
            loaded.append(_load(line, stamp))
        except Invalid as refused:
            errors += [replace(error, row=line.number) for error in refused.errors]
    if errors:
        raise Invalid("The budgets were not loaded.", errors)
    return loaded


def _load(line: BudgetLine, stamp: Stamp) -> Budget:
    key: dict[str, Any] = {
        "fund": line.fund,
        "award": line.award,
        "site": line.site,
        "category": line.category,
        "month": line.month,
    }
    told: dict[str, Any] = {"amount_cents": line.amount_cents, "note": line.note}
    known = Budget.objects.filter(**key).first()
    if known is None:
        return budget_add(**key, **told, stamp=stamp)
    return budget_edit(budget=known, values=told, expected=known.version, stamp=stamp)
