"""What is left to spend: limit, actual, committed, left."""

from datetime import date

import pytest

from orders.common.errors import RoleMissing
from orders.costs.spending import left_to_spend
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


def figures(row):
    return row.limit_cents, row.actual_cents, row.committed_cents, row.left_cents


def order_in(state):
    return build.WorkOrderFactory(state=state)


def test_it_takes_from_a_fund_what_was_spent_and_what_is_to_come(finance):
    fund = build.FundFactory(budget_cents=100_000)
    build.LedgerEntryFactory(fund=fund, amount_cents=30_000)
    build.LedgerEntryFactory(fund=fund, amount_cents=70_000, book="clearing", debit="clear-payroll", credit="fund")
    for state in ("issued", "underway", "closed", "void"):
        build.CommitmentFactory(fund=fund, amount_cents=10_000, order=order_in(state))
    (row,) = left_to_spend(finance)
    assert figures(row) == (100_000, 30_000, 20_000, 50_000)


def test_it_counts_what_was_taken_back_as_nothing(finance):
    fund, order = build.FundFactory(budget_cents=None), order_in("issued")
    build.CommitmentFactory(fund=fund, amount_cents=10_000, order=order)
    build.CommitmentFactory(fund=fund, amount_cents=-10_000, order=order, is_reversal=True)
    (row,) = left_to_spend(finance)
    assert figures(row) == (None, 0, 0, None)


def test_it_counts_purchases_without_an_order(finance):
    line = build.PurchaseLineFactory()
    empty = {"order": None, "visit": None, "prescription": None, "order_number": None, "site_code": ""}
    build.CommitmentFactory(
        fund=line.fund, amount_cents=4_000, purchase_line=line, patch_code="", method_code="", crew_name="", **empty
    )
    (row,) = [row for row in left_to_spend(finance) if row.fund == line.fund]
    assert row.committed_cents == 4_000


def test_it_shows_awards_and_budgets_under_their_fund(finance):
    award = build.AwardFactory(ceiling_cents=50_000)
    order = order_in("issued")
    month = {"posting_month": date(2027, 3, 1)}
    build.LedgerEntryFactory(fund=award.fund, award=award, amount_cents=20_000, category="labor", order=order)
    build.LedgerEntryFactory(fund=award.fund, amount_cents=5_000, category="material", **month)
    for of in ({"award": award}, {"category": "material"}, month_of(month), {"site": order.site}):
        build.BudgetFactory(fund=award.fund, amount_cents=30_000, **of)
    rows = left_to_spend(finance)
    assert [(row.kind, row.actual_cents) for row in rows[:2]] == [("fund", 25_000), ("award", 20_000)]
    named = {row.name: row.actual_cents for row in rows[2:]}
    code = award.fund.code
    assert named == {
        f"{code}, material": 5_000,
        f"{code}, March 2027": 5_000,
        f"{code}, {order.site.code}": 20_000,
        award.code: 20_000,
    }


def month_of(row):
    return {"month": row["posting_month"]}


def test_it_is_shown_to_finance_alone():
    with pytest.raises(RoleMissing):
        left_to_spend(build.UserFactory(roles=["coordinator"]))


def test_it_asks_as_often_for_many_funds_as_for_one(finance, django_assert_max_num_queries):
    for _ in range(12):
        award = build.AwardFactory()
        build.LedgerEntryFactory(fund=award.fund, award=award)
    with django_assert_max_num_queries(7):
        left_to_spend(finance)
