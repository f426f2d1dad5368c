"""Budgets: added, changed, removed, written out and read in again."""

from datetime import date
from typing import Any

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.costs.budget_csv import budgets_csv, budgets_read
from orders.costs.models import Budget
from orders.costs.services.budgets import budget_add, budget_edit, budget_remove, budgets_load
from tests import build

pytestmark = pytest.mark.django_db


def test_it_adds_a_budget_once(stamp):
    fund, month = build.FundFactory(), date(2027, 3, 1)
    budget_add(fund=fund, month=month, amount_cents=5_000, stamp=stamp)
    budget_add(fund=fund, amount_cents=9_000, stamp=stamp)
    with pytest.raises(Invalid) as refusal:
        budget_add(fund=fund, month=month, amount_cents=1, stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["fund"]


def _wrong(kind):
    fund = build.FundFactory()
    facts: dict[str, dict[str, Any]] = {
        "suspense": {"fund": build.FundFactory(is_suspense=True)},
        "award": {"award": build.AwardFactory()},
        "month": {"month": date(2027, 3, 2)},
        "amount_cents": {"amount_cents": -1},
        "category": {"category": "wine"},
    }
    return {"fund": fund, "amount_cents": 5, **facts[kind]}


@pytest.mark.parametrize("kind", ["suspense", "award", "month", "amount_cents", "category"])
def test_it_refuses_a_budget_that_is_none(stamp, kind):
    with pytest.raises(Invalid) as refusal:
        budget_add(**_wrong(kind), stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["fund" if kind == "suspense" else kind]
    assert not Budget.objects.exists()


def test_it_changes_a_budget(stamp):
    budget = build.BudgetFactory()
    budget_edit(budget=budget, values={"amount_cents": 7}, expected=budget.version, stamp=stamp)
    with pytest.raises(VersionMismatch):
        budget_edit(budget=budget, values={"amount_cents": 8}, expected=budget.version - 1, stamp=stamp)
    assert Budget.objects.get().amount_cents == 7


def test_it_lets_no_change_make_two_of_one(stamp):
    budget = build.BudgetFactory()
    other = build.BudgetFactory(fund=budget.fund, category="labor")
    with pytest.raises(Invalid):
        budget_edit(budget=other, values={"category": ""}, expected=other.version, stamp=stamp)


def test_it_removes_a_budget(stamp):
    budget = build.BudgetFactory()
    budget_remove(budget=budget, expected=budget.version, stamp=stamp)
    assert not Budget.objects.exists()


def test_it_reads_in_again_what_it_wrote_out(stamp):
    award = build.AwardFactory()
    site = build.SiteFactory()
    build.BudgetFactory(fund=award.fund, award=award, site=site, category="labor", month=date(2027, 3, 1))
    build.BudgetFactory(fund=award.fund, amount_cents=1, note='=1+1, "quoted"\nand more')
    written = budgets_csv(Budget.objects.order_by("id"))
    before = [vars_of(row) for row in Budget.objects.order_by("id")]
    Budget.objects.all().delete()
    budgets_load(lines=budgets_read(written), stamp=stamp)
    assert [vars_of(row) for row in Budget.objects.order_by("id")] == before
    assert "'=1+1" in written


def vars_of(row):
    return row.fund_id, row.award_id, row.site_id, row.category, row.month, row.amount_cents, row.note


def test_it_changes_what_it_names_and_leaves_the_rest(stamp):
    budget = build.BudgetFactory(fund=build.FundFactory(code="OPS"))
    other = build.BudgetFactory()
    budgets_load(lines=budgets_read("fund,amount\r\nOPS,12.5\r\n"), stamp=stamp)
    budget.refresh_from_db()
    assert (budget.amount_cents, Budget.objects.filter(pk=other.pk).exists()) == (1_250, True)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("fund,amount\nNO,1\nOPS,x\n", [(1, "fund"), (2, "amount")]),
        ("fund,amount,month\nOPS,1,March\n", [(1, "month")]),
        ("fund,amount,category\nOPS,1,wine\n", [(1, "category")]),
        ("fund,amount,award\nOPS,1,OTHER\n", [(1, "award")]),
        ("amount\n1\n", [(None, "csv")]),
        ("fund,amount,color\nOPS,1,red\n", [(None, "csv")]),
        ("fund,amount\nOPS,1,2\n", [(1, "csv")]),
        ('fund,amount\n"OPS', [(2, "csv")]),
        ("", [(None, "csv")]),
    ],
)
def test_it_tells_what_is_wrong_by_row_and_column_and_loads_nothing(stamp, text, told):
    build.FundFactory(code="OPS")
    build.AwardFactory(code="OTHER")
    with pytest.raises(Invalid) as refusal:
        budgets_load(lines=budgets_read(text), stamp=stamp)
    assert [(error.row, error.field) for error in refusal.value.errors] == told
    assert not Budget.objects.exists()
