"""Indirect cost by month, and the statement of an award."""

from datetime import date
from uuid import uuid4

import pytest

from orders.common.errors import Invalid, RoleMissing
from orders.costs.indirect_base import awards_to_post
from orders.costs.models import HeldCharge, LedgerEntry
from orders.costs.services.bills import bill_approve, bill_void
from orders.costs.services.entries import entries_reverse
from orders.costs.services.indirect import indirect_post
from orders.costs.statements import award_statement
from tests import build
from tests.costs.charges import TODAY, charged, spent, standing, told

pytestmark = pytest.mark.django_db
MONTH = date(2027, 2, 1)


@pytest.fixture(autouse=True)
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True, budget_cents=None)


@pytest.fixture
def award():
    fund = build.FundFactory(budget_cents=None)
    return build.AwardFactory(fund=fund, ceiling_cents=100_000_000)


def terms(award, **more):
    facts = {"indirect_e4": 1_500, "indirect_base": "mtdc", **more}
    return build.AwardTermFactory(award=award, **facts)


def billed(award, cents, *, category="contract", subaward=None, quantity=1):
    """An approved bill of one line, of a purchase order."""
    order = subaward or build.PurchaseOrderFactory(cents=0, state="approved")
    number = order.lines.count() + 1
    bought = build.PurchaseLineFactory(
        order=order, number=number, fund=award.fund, amount_cents=cents, quantity=quantity, category=category
    )
    line = {"fund": award.fund, "award": award, "category": category, "purchase_line": bought}
    bill = build.BillFactory(vendor=order.vendor, purchase_order=order, total_cents=cents, line=line)
    return bill_approve(bill=bill, posted_on=TODAY, stamp=told())


def indirect(award):
    return spent(award=award, category="indirect")


def test_it_posts_the_rate_on_the_base(award):
    terms(award)
    charged(award.fund, award, 100_000)
    (row,) = indirect_post(month=MONTH, stamp=told())
    assert (row.amount_cents, row.debit, row.credit, row.rate_e4) == (
        15_000,
        "cost-indirect",
        "clear-indirect",
        1_500,
    )


def test_it_posts_nothing_where_nothing_changed(award):
    terms(award)
    charged(award.fund, award, 100_000)
    indirect_post(month=MONTH, stamp=told())
    assert indirect_post(month=MONTH, stamp=told()) == []
    assert LedgerEntry.objects.filter(category="indirect").count() == 1


def test_it_takes_back_and_posts_anew_what_changed(award):
    terms(award)
    rows = charged(award.fund, award, 100_000)
    indirect_post(month=MONTH, stamp=told())
    charged(award.fund, award, 10_000)
    (row,) = indirect_post(month=MONTH, stamp=told())
    assert (row.revision, indirect(award)) == (2, 16_500)
    entries_reverse(rows, posted_on=TODAY, stamp=told())
    indirect_post(month=MONTH, stamp=told())
    assert indirect(award) == 1_500


def test_it_takes_all_back_where_no_base_is_left(award):
    terms(award)
    rows = charged(award.fund, award, 100_000)
    indirect_post(month=MONTH, stamp=told())
    entries_reverse(rows, posted_on=TODAY, stamp=told())
    assert indirect_post(month=MONTH, stamp=told()) == []
    assert indirect(award) == 0


@pytest.mark.parametrize(("base", "cents"), [("direct", 22_500), ("salaries", 7_500), ("none", 0)])
def test_it_goes_by_the_base_of_the_terms(award, base, cents):
    terms(award, indirect_base=base)
    charged(award.fund, award, 50_000, category="labor")
    charged(award.fund, award, 100_000)
    indirect_post(month=MONTH, stamp=told())
    assert indirect(award) == cents


def test_it_caps_a_subaward_over_all_its_months(award):
    terms(award, subaward_cap_cents=30_000)
    order = build.PurchaseOrderFactory(cents=0, state="approved", is_subaward=True)
    for _ in range(2):
        billed(award, 20_000, subaward=order)
    indirect_post(month=MONTH, stamp=told())
    assert indirect(award) == 4_500


def test_it_leaves_out_equipment_by_the_price_of_one_piece(award):
    terms(award, equipment_threshold_cents=500_000)
    billed(award, 500_000, category="equipment")
    billed(award, 800_000, category="equipment", quantity=2)
    indirect_post(month=MONTH, stamp=told())
    assert indirect(award) == 120_000


def test_it_follows_a_bill_that_is_void(award):
    terms(award)
    bill = billed(award, 40_000)
    indirect_post(month=MONTH, stamp=told())
    bill_void(bill=bill, posted_on=TODAY, stamp=told())
    indirect_post(month=MONTH, stamp=told())
    assert (indirect(award), spent(award=award)) == (0, 0)


def test_it_holds_what_the_ceiling_has_no_room_for(award):
    terms(award)
    award.ceiling_cents = 110_000
    award.save()
    charged(award.fund, award, 100_000)
    indirect_post(month=MONTH, stamp=told())
    assert (spent(award=award), HeldCharge.objects.get().code) == (100_000, "over-ceiling")
    assert indirect_post(month=MONTH, stamp=told()) == []


def test_it_tells_which_awards_are_to_be_posted(award):
    terms(award)
    other = build.AwardFactory()
    charged(other.fund, other, 500)
    rows = charged(award.fund, award, 100_000)
    assert awards_to_post(MONTH) == [award]
    indirect_post(month=MONTH, stamp=told())
    assert awards_to_post(MONTH) == []
    entries_reverse(rows, posted_on=TODAY, stamp=told())
    assert awards_to_post(MONTH) == [award]


def test_it_posts_what_a_closed_month_lacks_to_the_first_open_one(award):
    terms(award)
    charged(award.fund, award, 100_000)
    build.PeriodFactory(first_day=MONTH, state="closed")
    (row,) = indirect_post(month=MONTH, stamp=told())
    assert (row.posting_month, row.amount_cents) == (date(2027, 3, 1), 15_000)
    assert (indirect_post(month=MONTH, stamp=told()), awards_to_post(MONTH)) == ([], [])


def test_it_brings_a_closed_month_to_new_terms_in_the_open_one(award):
    terms(award, from_day=date(2027, 1, 1))
    charged(award.fund, award, 100_000)
    indirect_post(month=MONTH, stamp=told())
    build.PeriodFactory(first_day=MONTH, state="closed")
    terms(award, from_day=date(2027, 1, 15), indirect_e4=1_000)
    indirect_post(month=MONTH, stamp=told())
    posted = LedgerEntry.objects.filter(source_kind="indirect").order_by("id")
    assert list(posted.values_list("posting_month", "amount_cents")) == [
        (MONTH, 15_000),
        (date(2027, 3, 1), -15_000),
        (date(2027, 3, 1), 10_000),
    ]


def test_it_wants_a_month():
    with pytest.raises(Invalid):
        indirect_post(month=date(2027, 2, 2), stamp=told())


def test_its_statement_opens_the_base_and_the_match(award):
    terms(award, match_e4=2_500, subaward_cap_cents=30_000, equipment_threshold_cents=500_000)
    order = build.PurchaseOrderFactory(cents=0, state="approved", is_subaward=True)
    billed(award, 100_000, subaward=order)
    billed(award, 600_000, category="equipment")
    charged(award.fund, award, 50_000, category="labor")
    build.LedgerEntryFactory(
        fund=award.fund, award=award, book="match", debit="match-used", credit="match-given", amount_cents=12_000
    )
    indirect_post(month=MONTH, stamp=told())
    told_of = award_statement(build.UserFactory(roles=["finance"]), award, date(2027, 2, 28))
    base = told_of.base
    assert (base.direct_cents, base.base_cents, base.equipment_cents, base.subaward_cents) == (
        750_000,
        80_000,
        600_000,
        70_000,
    )
    assert (told_of.indirect_cents, told_of.indirect_due_cents, told_of.total_cents) == (12_000, 12_000, 762_000)
    assert (told_of.match_required_cents, told_of.match_earned_cents) == (190_500, 12_000)
    assert told_of.ceiling_left_cents == 100_000_000 - 762_000


def test_its_match_is_the_larger_of_share_and_amount(award):
    terms(award, match_e4=1_000, match_cents=30_000)
    charged(award.fund, award, 100_000)
    finance = build.UserFactory(roles=["finance"])
    assert award_statement(finance, award, TODAY).match_required_cents == 30_000
    charged(award.fund, award, 400_000)
    assert award_statement(finance, award, TODAY).match_required_cents == 50_000


def test_its_statement_tells_what_other_funds_paid_on_the_same_orders(award):
    order = build.WorkOrderFactory()
    build.LedgerEntryFactory(fund=award.fund, award=award, order=order)
    build.LedgerEntryFactory(order=order, amount_cents=7_000)
    build.LedgerEntryFactory(amount_cents=9_000)
    finance = build.UserFactory(roles=["finance"])
    assert award_statement(finance, award, TODAY).beside_cents == 7_000


def test_it_shows_a_statement_to_finance_alone(award):
    with pytest.raises(RoleMissing):
        award_statement(build.UserFactory(roles=["coordinator"]), award, TODAY)


def test_it_settles_its_own_source_once(award):
    terms(award)
    charged(award.fund, award, 100_000, source=uuid4())
    (row,) = indirect_post(month=MONTH, stamp=told())
    assert len(standing(row.source_id)) == 1
