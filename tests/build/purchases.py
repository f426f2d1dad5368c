"""Vendors, purchase orders, bills, and how stock is valued."""

from datetime import date

import factory

from orders.costs import models as costs
from tests.build.base import NOW, WORK_DAY, Build
from tests.build.money import FundFactory
from tests.build.season import VisitFactory, WorkOrderFactory
from tests.build.stock import EquipmentFactory


class VendorFactory(Build):
    class Meta:
        model = costs.Vendor

    name = factory.Sequence(lambda n: f"Invented vendor {n}")
    kind = "supplier"


class PurchaseOrderFactory(Build):
    """With one line of $100; `cents=0` leaves it empty."""

    class Meta:
        model = costs.PurchaseOrder

    number = factory.Sequence(lambda n: 5000 + n)
    vendor = factory.SubFactory(VendorFactory)
    ordered_on = date(2027, 1, 5)

    @factory.post_generation
    def cents(self, create, extracted, **kwargs):
        amount = 10_000 if extracted is None else extracted
        if amount:
            PurchaseLineFactory(order=self, amount_cents=amount)


class PurchaseLineFactory(Build):
    class Meta:
        model = costs.PurchaseLine

    order = factory.SubFactory(PurchaseOrderFactory, cents=0)
    number = 1
    category = "contract"
    description = "Clearing by hand"
    fund = factory.SubFactory(FundFactory)
    amount_cents = 10_000


class BillFactory(Build):
    """With one line of its total, unless `line` is False."""

    class Meta:
        model = costs.Bill

    vendor = factory.SubFactory(VendorFactory)
    number = factory.Sequence(lambda n: f"B-{n}")
    billed_on = date(2027, 2, 12)
    worked_on = WORK_DAY
    total_cents = 10_000

    @factory.post_generation
    def line(self, create, extracted, **kwargs):
        if extracted is not False:
            BillLineFactory(bill=self, amount_cents=self.total_cents, **(extracted or {}))


class BillLineFactory(Build):
    class Meta:
        model = costs.BillLine

    bill = factory.SubFactory(BillFactory, line=False)
    number = 1
    category = "contract"
    description = "Clearing by hand"
    fund = factory.SubFactory(FundFactory)
    amount_cents = 10_000


class EquipmentHoursFactory(Build):
    class Meta:
        model = costs.EquipmentHours

    equipment = factory.SubFactory(EquipmentFactory)
    order = factory.SubFactory(WorkOrderFactory)
    visit = factory.SubFactory(VisitFactory)
    work_date = WORK_DAY
    operating_minutes = 90
    at = NOW


class TripFactory(Build):
    class Meta:
        model = costs.Trip

    vehicle = "Truck 4"
    work_date = WORK_DAY
    miles_tenths = 412
    at = NOW


class StockPolicyFactory(Build):
    class Meta:
        model = costs.StockPolicy

    from_day = date(2026, 1, 1)
    valuation = "fifo"
    source = "invented"


class StockValueFactory(Build):
    class Meta:
        model = costs.StockValue

    movement = factory.SubFactory("tests.build.stock.StockMovementFactory")
    product = factory.SelfAttribute("movement.lot.product")
    amount = factory.SelfAttribute("movement.amount")
    value_cents = 22_000
    valuation = "lot"
    layers = factory.LazyAttribute(
        lambda row: [{"lot": str(row.movement.lot.public_id), "amount": row.amount, "cents": row.value_cents}]
    )
