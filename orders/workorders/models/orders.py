"""Work orders: what a crew is sent to do, and which limits a named person let pass before it was issued."""

from django.db import models
from django.db.models import Q

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel


class WorkOrder(VersionedModel):
    """One crew, one site, one or more visits."""

    STATES = [
        ("draft", "Draft"),
        ("issued", "Issued"),
        ("underway", "Underway"),
        ("closed", "Closed"),
        ("void", "Void"),
    ]
    number = models.PositiveIntegerField(unique=True)
    season = models.ForeignKey("planning.Season", on_delete=models.PROTECT, related_name="work_orders")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="work_orders")
    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="work_orders")
    state = models.CharField(max_length=10, choices=STATES, default="draft")
    first_day = models.DateField()
    last_day = models.DateField()
    instructions = models.TextField(blank=True)
    issued_at = models.DateTimeField(null=True)
    started_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    void_reason = models.CharField(max_length=200, blank=True)
    label = models.JSONField(
        null=True, help_text="What the labels said when the order was issued, versioned; null until then."
    )

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="void") | Q(void_reason=""), name="work_order_void_reason_only_when_void"
            ),
        ]

    def __str__(self) -> str:
        return f"Work order {self.number}"


class OrderVisit(models.Model):
    """The order points at its visits; a visit is on one order at most."""

    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="order_visits")
    visit = models.OneToOneField("planning.Visit", on_delete=models.PROTECT, related_name="order_visit")

    class Meta:
        ordering = ["order_id", "visit_id"]

    def __str__(self) -> str:
        return f"{self.order}: {self.visit}"


class LimitOverride(AppendOnlyModel, PublicIdModel):
    """A named person let an order go beyond an advisory or program limit, with the reason. Never a mandatory one."""

    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="overrides")
    limit_kind = models.CharField(max_length=16)
    limit = models.CharField(max_length=300)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["order_id", "id"]
        constraints = [
            models.CheckConstraint(condition=~Q(limit_kind="label-mandatory"), name="override_never_mandatory"),
            models.CheckConstraint(condition=~Q(reason=""), name="override_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.order}: {self.limit}"


class OrderEdition(AppendOnlyModel, PublicIdModel):
    """What was printed for the crew, once for each change of what it must know: `facts` and their hash say whether the
    order still says the same."""

    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="editions")
    number = models.PositiveSmallIntegerField()
    printed_at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    sha256 = models.CharField(max_length=64)
    facts = models.JSONField()

    class Meta:
        ordering = ["order_id", "number"]
        constraints = [models.UniqueConstraint(fields=["order", "number"], name="order_edition_once")]

    def __str__(self) -> str:
        return f"{self.order}, edition {self.number}"
