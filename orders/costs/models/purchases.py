"""What is bought: vendors, purchase orders, bills; equipment hours and trips; the value of stock."""

from django.db import models
from django.db.models import Q

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel
from orders.costs.models.funds import Award, Fund
from orders.costs.models.vocabulary import CATEGORIES


class Vendor(VersionedModel):
    KINDS = [("contractor", "Contractor"), ("supplier", "Supplier")]
    name = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=10, choices=KINDS)
    contact = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class PurchaseOrder(VersionedModel):
    """What was ordered: approved, it is committed, line by line; bills take it down, closing lets go of the rest."""

    STATES = [("draft", "Draft"), ("approved", "Approved"), ("closed", "Closed"), ("void", "Void")]
    number = models.PositiveIntegerField(unique=True)
    vendor = models.ForeignKey(Vendor, on_delete=models.PROTECT, related_name="purchase_orders")
    state = models.CharField(max_length=8, choices=STATES, default="draft")
    ordered_on = models.DateField()
    wanted_by = models.DateField(null=True, blank=True)
    is_subaward = models.BooleanField(default=False, help_text="A part of an award that another carries out")
    note = models.CharField(max_length=300, blank=True)
    approved_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    approved_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-number"]

    def __str__(self) -> str:
        return f"Purchase order {self.number}"


class PurchaseLine(PublicIdModel):
    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    number = models.PositiveSmallIntegerField()
    category = models.CharField(max_length=10, choices=CATEGORIES)
    description = models.CharField(max_length=200)
    product = models.ForeignKey("supplies.Product", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    work_order = models.ForeignKey(
        "workorders.WorkOrder", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    quantity = models.DecimalField(max_digits=12, decimal_places=3, default=1)
    unit = models.CharField(max_length=20, default="each")
    amount_cents = models.BigIntegerField()

    class Meta:
        ordering = ["order_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["order", "number"], name="purchase_line_once"),
            models.CheckConstraint(condition=Q(amount_cents__gt=0), name="purchase_line_costs"),
        ]

    def __str__(self) -> str:
        return f"{self.order}, line {self.number}"


class Bill(VersionedModel):
    """A vendor's bill: approved, it is posted; paid, it is settled. What is wrong is voided and entered anew."""

    STATES = [("draft", "Draft"), ("approved", "Approved"), ("paid", "Paid"), ("void", "Void")]
    vendor = models.ForeignKey(Vendor, on_delete=models.PROTECT, related_name="bills")
    number = models.CharField(max_length=60, help_text="The vendor's")
    purchase_order = models.ForeignKey(
        PurchaseOrder, on_delete=models.PROTECT, null=True, blank=True, related_name="bills"
    )
    state = models.CharField(max_length=8, choices=STATES, default="draft")
    billed_on = models.DateField()
    due_on = models.DateField(null=True, blank=True)
    worked_on = models.DateField(help_text="When the work was done or the goods came: its award must hold then")
    total_cents = models.BigIntegerField()
    revision = models.PositiveSmallIntegerField(default=1)
    note = models.CharField(max_length=300, blank=True)
    approved_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    approved_at = models.DateTimeField(null=True)
    paid_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["-billed_on", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["vendor", "number"], condition=~Q(state="void"), name="bill_once_a_vendor_and_number"
            )
        ]

    def __str__(self) -> str:
        return f"Bill {self.number} of {self.vendor}"


class BillLine(PublicIdModel):
    """Its lines sum to the bill. A line for a lot goes into stock; any other is a cost at once."""

    bill = models.ForeignKey(Bill, on_delete=models.CASCADE, related_name="lines")
    number = models.PositiveSmallIntegerField()
    category = models.CharField(max_length=10, choices=CATEGORIES)
    description = models.CharField(max_length=200)
    purchase_line = models.ForeignKey(
        PurchaseLine, on_delete=models.PROTECT, null=True, blank=True, related_name="bill_lines"
    )
    lot = models.ForeignKey("supplies.StockLot", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    work_order = models.ForeignKey(
        "workorders.WorkOrder", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    amount_cents = models.BigIntegerField()

    class Meta:
        ordering = ["bill_id", "number"]
        constraints = [models.UniqueConstraint(fields=["bill", "number"], name="bill_line_once")]

    def __str__(self) -> str:
        return f"{self.bill}, line {self.number}"


class EquipmentHours(AppendOnlyModel, PublicIdModel):
    """Hours of a machine on an order's day, by its own rate of that day instead of its method's. Standby costs nothing.
    A correction replaces the row that it names."""

    equipment = models.ForeignKey("supplies.Equipment", on_delete=models.PROTECT, related_name="+")
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, related_name="equipment_hours")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, related_name="+")
    method_code = models.CharField(max_length=20, blank=True, help_text="Whose standard hour it stands for")
    work_date = models.DateField()
    operating_minutes = models.PositiveIntegerField()
    standby_minutes = models.PositiveIntegerField(default=0)
    revision = models.PositiveSmallIntegerField(default=1)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["work_date", "id"]
        verbose_name_plural = "equipment hours"

    def __str__(self) -> str:
        return f"{self.equipment} on {self.work_date}"


class Trip(AppendOnlyModel, PublicIdModel):
    """Miles by the odometer, at the rate of the day, instead of the map's miles of the visit that it names."""

    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, null=True, related_name="trips")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, null=True, related_name="+")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, null=True, related_name="+")
    vehicle = models.CharField(max_length=60)
    work_date = models.DateField()
    miles_tenths = models.PositiveIntegerField()
    purpose = models.CharField(max_length=120, blank=True)
    revision = models.PositiveSmallIntegerField(default=1)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["work_date", "id"]

    def __str__(self) -> str:
        return f"{self.vehicle} {self.miles_tenths / 10:.1f} mi on {self.work_date}"


class StockPolicy(PublicIdModel):
    """How stock that leaves is valued, from a day on."""

    VALUATIONS = [
        ("lot", "At the price of the lot that was used"),
        ("fifo", "First in, first out"),
        ("average", "At the moving average"),
    ]
    from_day = models.DateField(unique=True)
    valuation = models.CharField(max_length=8, choices=VALUATIONS)
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["-from_day"]
        verbose_name_plural = "stock policies"

    def __str__(self) -> str:
        return f"{self.get_valuation_display()} from {self.from_day}"


class StockValue(AppendOnlyModel, PublicIdModel):
    """What one movement of stock was worth when it was posted: receipts and finds add, uses and losses take."""

    movement = models.OneToOneField("supplies.StockMovement", on_delete=models.PROTECT, related_name="value")
    product = models.ForeignKey("supplies.Product", on_delete=models.PROTECT, related_name="+")
    amount = models.BigIntegerField(help_text="Signed, in the lot's unit, as the movement has it")
    value_cents = models.BigIntegerField(help_text="Signed")
    valuation = models.CharField(max_length=8)
    layers = models.JSONField(default=list, help_text="Which receipts it came out of: lot, amount, cents")

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["product", "id"], name="stock_value_product")]

    def __str__(self) -> str:
        return f"{self.movement}: {self.value_cents}"
