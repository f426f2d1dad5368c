"""What it cost and who pays. Ledger rows are added, never changed; a correction is a reversing row."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel

CATEGORIES = [("labor", "Labor"), ("material", "Material"), ("equipment", "Equipment"), ("mileage", "Mileage")]


class Fund(VersionedModel):
    """Where money comes from. The suspense fund holds what no other may take until finance settles it."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    budget_cents = models.BigIntegerField(null=True, blank=True)
    is_suspense = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(fields=["is_suspense"], condition=Q(is_suspense=True), name="fund_one_suspense")
        ]

    def __str__(self) -> str:
        return self.name


class Award(VersionedModel):
    """A grant with its own terms, paid through a fund."""

    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="awards")
    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    first_day = models.DateField(help_text="Period of performance")
    last_day = models.DateField()
    ceiling_cents = models.BigIntegerField()

    class Meta:
        ordering = ["code"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="award_in_order")]

    def __str__(self) -> str:
        return self.name


class PayRate(PublicIdModel):
    """What a person costs an hour from a day on, fringe included. Finance only."""

    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="pay_rates")
    from_day = models.DateField()
    rate_e4 = models.PositiveBigIntegerField(help_text="1/10,000 dollars an hour")

    class Meta:
        ordering = ["person_id", "-from_day"]
        constraints = [models.UniqueConstraint(fields=["person", "from_day"], name="pay_rate_once_a_day")]

    def __str__(self) -> str:
        return f"{self.person} from {self.from_day}"


class OrderFunding(PublicIdModel):
    """The share of an order's cost that a fund pays, in 1/10,000; the shares of an order sum to 10,000."""

    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, related_name="funding")
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="order_funding")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="order_funding")
    share_e4 = models.PositiveIntegerField()

    class Meta:
        ordering = ["order_id", "id"]
        constraints = [
            models.UniqueConstraint(fields=["order", "fund", "award"], name="order_funding_once_an_award"),
            models.UniqueConstraint(
                fields=["order", "fund"], condition=Q(award__isnull=True), name="order_funding_once_a_fund"
            ),
            models.CheckConstraint(condition=Q(share_e4__gt=0, share_e4__lte=10_000), name="order_funding_is_share"),
        ]

    def __str__(self) -> str:
        return f"{self.fund} pays {self.share_e4 / 100:.2f} % of {self.order}"


class CostRow(AppendOnlyModel, PublicIdModel):
    """What planned and actual rows share. Dimensions are copied when posted: a later change alters no history."""

    posting_key = models.CharField(
        max_length=250, unique=True, help_text="Says what this row posts; nothing posts twice"
    )
    category = models.CharField(max_length=10, choices=CATEGORIES)
    amount_cents = models.BigIntegerField()
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, related_name="+")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, related_name="+")
    prescription = models.ForeignKey("planning.Prescription", on_delete=models.PROTECT, related_name="+")
    order_number = models.PositiveIntegerField()
    site_code = models.CharField(max_length=20)
    patch_code = models.CharField(max_length=40)
    species_code = models.CharField(max_length=20)
    method_code = models.CharField(max_length=20)
    crew_name = models.CharField(max_length=80)
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, related_name="+")
    work_date = models.DateField()
    posting_month = models.DateField(help_text="First day of the posting period")
    posted_at = models.DateTimeField()
    posted_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        abstract = True


class Commitment(CostRow):
    """What an issued order was planned to cost; a void posts the opposite."""

    minutes = models.BigIntegerField(default=0)
    is_reversal = models.BooleanField(default=False)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.order_number} {self.category} {self.amount_cents}"


class LedgerEntry(CostRow):
    """What it cost. Unique on its source and revision: a repeated close cannot post twice."""

    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, null=True, related_name="+")
    person_type = models.CharField(max_length=12, blank=True)
    quantity = models.BigIntegerField(help_text="Minutes, microliters, milligrams or tenths of a mile; signed")
    unit = models.CharField(max_length=6)
    rate_e4 = models.BigIntegerField(help_text="1/10,000 dollars an hour, liter, kilogram or mile")
    rate_origin = models.CharField(
        max_length=10, choices=[("pay", "Pay"), ("standard", "Standard"), ("price", "Price")]
    )
    source_kind = models.CharField(max_length=30)
    source_id = models.UUIDField()
    revision = models.PositiveSmallIntegerField()
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="reversed_by")
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "ledger entries"
        indexes = [models.Index(fields=["posting_month", "fund"], name="ledger_month_fund")]

    def __str__(self) -> str:
        return f"{self.order_number} {self.category} {self.amount_cents}"
