"""Why an order's cost differs from its plan, by what its close-out states."""

import pytest

from orders.common.errors import Invalid, RoleMissing
from orders.reports.catalog import report_table
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


def _order(state="closed", percent=50, **estimate):
    """300 dollars for 600 min of labor, and 20 for product, planned; half of it done."""
    order = build.WorkOrderFactory(state=state, number=7)
    asked = build.PrescriptionFactory(estimate__products_ul={"P1": 1_000_000}, **estimate)
    visit = build.VisitFactory(prescriptions=[asked], state="done")
    build.OrderVisitFactory(order=order, visit=visit)
    beside = {"order": order, "visit": visit, "prescription": asked, "fund": build.FundFactory()}
    build.CommitmentFactory(**beside, amount_cents=30_000, minutes=600)
    build.CommitmentFactory(**beside, amount_cents=2_000, category="material")
    if state == "closed":
        close_out = build.CloseOutFactory(order=order)
        build.PatchOutcomeFactory(close_out=close_out, prescription=asked, percent_complete=percent)
    return beside


def _told(finance, **query):
    """By the first column: price, hours, quantity, scope."""
    return {row[0]: row[4:] for row in report_table(finance, "variance", query).rows}


def test_it_parts_labor_and_product(finance):
    beside = _order()
    build.LedgerEntryFactory(**beside, amount_cents=24_000, quantity=400)  # planned: 300 min at 50 cents
    # planned: half a liter at 20 dollars
    build.LedgerEntryFactory(**beside, amount_cents=1_500, quantity=600_000, unit="uL", category="material")
    assert _told(finance) == {"7": (4_000 + 300, 5_000, 200, -16_000)}


def test_it_takes_what_is_not_closed_as_still_to_do(finance):
    _order(state="underway")
    assert _told(finance) == {"7": (0, 0, 0, -32_000)}


def test_it_takes_premium_as_price_and_overhead_without_order_too(finance):
    beside = _order(percent=100)
    build.LedgerEntryFactory(**beside, amount_cents=30_000, quantity=600)
    build.LedgerEntryFactory(**beside, amount_cents=900, quantity=60, category="premium")
    nowhere = {"order": None, "visit": None, "order_number": None, "site_code": "", "crew_name": ""}
    build.LedgerEntryFactory(**nowhere, fund=beside["fund"], amount_cents=70, category="indirect")
    assert _told(finance) == {"7": (900, 0, -2_000, 0), "No order": (70, 0, 0, 0)}


def test_it_rolls_up_by_any_one_cut(finance):
    beside = _order()
    build.LedgerEntryFactory(**beside, amount_cents=24_000, quantity=400)
    assert _told(finance, by="category") == {"Labor": (4_000, 5_000, 0, -15_000), "Material": (0, 0, -1_000, -1_000)}


def test_it_is_cut_once_only(finance):
    with pytest.raises(Invalid):
        report_table(finance, "variance", {"by": "luck"})


def test_it_is_finances_alone():
    with pytest.raises(RoleMissing):
        report_table(build.UserFactory(roles=["coordinator"]), "variance", {})
