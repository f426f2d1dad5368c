"""The pages of purchases, bills, stock and equipment in the states that look different."""

from datetime import date
from decimal import Decimal

from django.urls import reverse

from orders.costs.services.stocking import lot_receive_posted, stock_move_posted
from orders.workorders.models import OrderVisit, WorkOrder
from tests import build

ON = date(2026, 12, 1)
NOWHERE = {"visit": None, "prescription": None, "order_number": None} | dict.fromkeys(
    ("site_code", "patch_code", "species_code", "method_code", "crew_name"), ""
)


def _funds():
    build.FundFactory(code="SUSPENSE", name="Suspense", is_suspense=True)
    return build.FundFactory(code="CITY", name="City operations", budget_cents=None)


def purchases() -> str:
    fund = _funds()
    for number, state in enumerate(("draft", "approved", "closed", "void")):
        vendor = build.VendorFactory(name=f"Hollow Land Care {number}")
        purchase = build.PurchaseOrderFactory(vendor=vendor, state=state, cents=0, number=40 + number)
        build.PurchaseLineFactory(order=purchase, fund=fund, amount_cents=125_000 + number)
    return reverse("purchases")


def purchase() -> str:
    fund = _funds()
    award = build.AwardFactory(fund=fund, code="OXBOW-27")
    made = build.PurchaseOrderFactory(cents=0, state="approved", number=41, wanted_by=date(2027, 3, 1))
    site = build.SiteFactory(name="Oxbow Preserve")
    first = build.PurchaseLineFactory(order=made, fund=fund, award=award, site=site, amount_cents=480_000)
    build.PurchaseLineFactory(order=made, number=2, fund=fund, category="material", description="Flagging tape")
    build.CommitmentFactory(purchase_line=first, amount_cents=300_000, order=None, fund=fund, **NOWHERE)
    build.BillFactory(vendor=made.vendor, purchase_order=made, total_cents=180_000, state="approved")
    return reverse("purchase", args=[made.public_id])


def purchase_new() -> str:
    _funds()
    build.VendorFactory(name="Hollow Land Care")
    return reverse("purchase-new")


def bills() -> str:
    fund = _funds()
    for number, state in enumerate(("draft", "approved", "paid", "void")):
        build.BillFactory(state=state, number=f"2027-{number}", line={"fund": fund})
    return reverse("bills")


def bill() -> str:
    made = build.BillFactory(state="approved", line={"fund": _funds()})
    return reverse("bill", args=[made.public_id])


def bill_new() -> str:
    purchase()
    return reverse("bill-new")


def stock() -> str:
    _funds()
    product = build.ProductFactory(name="Hollowcut 480")
    for number, price in (("A-1", 220_000), ("B-2", 245_000)):
        lot = lot_receive_posted(
            product=product,
            lot_number=number,
            amount=Decimal("7.5"),
            unit="L",
            price_e4=price,
            received_on=ON,
            posted_on=ON,
            stamp=build.stamp(),
        )
    stock_move_posted(
        lot=lot,
        kind="write_off",
        amount=Decimal("0.25"),
        unit="L",
        on=ON,
        posted_on=ON,
        reason="A jug froze and split in the shed.",
        stamp=build.stamp(),
    )
    return f"{reverse('stock-value')}?on=2026-12-01"


def stock_receive() -> str:
    build.ProductFactory(name="Hollowcut 480")
    return reverse("stock-receive")


def stock_count() -> str:
    stock()
    return reverse("stock-count")


def to_buy() -> str:
    product = build.ProductFactory(code="hollowcut", name="Hollowcut 480")
    build.PriceFactory(kind="product", code="hollowcut", price_e4=220_000)
    build.ProductFactory(code="without", name="Fernset 12")
    season = build.SeasonFactory(name="Winter 2027")
    estimate = build.EstimateFactory(products_ul={product.code: 3_200_000, "without": 150_000})
    build.PrescriptionFactory(season=season, estimate=estimate)
    return f"{reverse('purchase-list')}?season={season.public_id}"


def _order() -> WorkOrder:
    _funds()
    order = build.WorkOrderFactory(number=12, state="underway")
    visit = build.VisitFactory(prescriptions=[build.PrescriptionFactory()], state="ordered", site=order.site)
    OrderVisit.objects.create(order=order, visit=visit)
    build.EquipmentFactory(code="chipper", name="Chipper")
    return order


def equipment() -> str:
    order = _order()
    visit = order.order_visits.get().visit
    named = {"order": order, "visit": visit}
    build.EquipmentHoursFactory(**named, equipment=build.EquipmentFactory(code="saw", name="Saw"), standby_minutes=45)
    first = build.TripFactory(**named, person=build.PersonFactory(name="R. Teasel"))
    build.TripFactory(**named, replaces=first, revision=2, miles_tenths=398, reason="Read from the other meter")
    return f"{reverse('equipment-hours')}?order=12"


def hours_new() -> str:
    _order()
    return f"{reverse('hours-new')}?order=12"


def trip_new() -> str:
    _order()
    return f"{reverse('trip-new')}?order=12"


FINANCE, DESK = ("finance",), ("coordinator",)
STATES = {
    "purchases": (purchases, FINANCE),
    "purchases-empty": (lambda: reverse("purchases"), FINANCE),
    "purchase": (purchase, FINANCE),
    "purchase-new": (purchase_new, FINANCE),
    "vendor-new": (lambda: reverse("vendor-new"), FINANCE),
    "bills": (bills, FINANCE),
    "bills-empty": (lambda: reverse("bills"), FINANCE),
    "bill": (bill, FINANCE),
    "bill-new": (bill_new, FINANCE),
    "stock-value": (stock, FINANCE),
    "stock-value-empty": (lambda: reverse("stock-value"), FINANCE),
    "stock-receive": (stock_receive, FINANCE),
    "stock-count": (stock_count, FINANCE),
    "purchase-list": (to_buy, FINANCE),
    "purchase-list-empty": (lambda: reverse("purchase-list"), FINANCE),
    "equipment-hours": (equipment, DESK),
    "equipment-hours-empty": (lambda: reverse("equipment-hours"), FINANCE),
    "hours-new": (hours_new, DESK),
    "trip-new": (trip_new, FINANCE),
}
