"""What was really done on an order, as its crew states it: a record, corrected only by an amendment."""

from django.db import models
from django.db.models import Q

from orders.common.models import AppendOnlyModel, PublicIdModel
from orders.workorders.models.orders import WorkOrder


class CloseOut(AppendOnlyModel, PublicIdModel):
    """The crew lead's statement of what was done. Revision 1 is the close; a later one amends the one it points at."""

    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="close_outs")
    revision = models.PositiveSmallIntegerField()
    amends = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="amended_by")
    reason = models.CharField(max_length=300, blank=True)
    work_date = models.DateField(help_text="Site-local date of the last day of work")
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()
    confirmed_by = models.CharField(max_length=120)
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    condition = models.CharField(max_length=200, blank=True)
    weather = models.JSONField(default=dict)
    follow_up_wanted = models.BooleanField(default=False)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["order_id", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["order", "revision"], name="close_out_revision_once"),
            models.CheckConstraint(
                condition=Q(revision=1, amends__isnull=True) | Q(revision__gt=1, amends__isnull=False),
                name="close_out_amends_from_two",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order} close-out {self.revision}"


class PatchOutcome(AppendOnlyModel):
    """How far a prescription got, as the close-out states it."""

    close_out = models.ForeignKey(CloseOut, on_delete=models.PROTECT, related_name="outcomes")
    prescription = models.ForeignKey("planning.Prescription", on_delete=models.PROTECT, related_name="outcomes")
    percent_complete = models.PositiveSmallIntegerField()
    stems_cut = models.PositiveIntegerField(null=True)
    area_done_m2 = models.FloatField(null=True, help_text="Of the drawn outline, or as typed.")
    drawn = models.JSONField(null=True, help_text="GeoJSON polygon of the ground that was done, WGS 84.")

    class Meta:
        ordering = ["close_out_id", "prescription_id"]
        constraints = [
            models.UniqueConstraint(fields=["close_out", "prescription"], name="outcome_once"),
            models.CheckConstraint(condition=Q(percent_complete__lte=100), name="outcome_is_percent"),
        ]

    def __str__(self) -> str:
        return f"{self.prescription}: {self.percent_complete}%"


class TimeEntry(AppendOnlyModel, PublicIdModel):
    """A person's minutes on a dated visit. `origin` says whether they were measured or filled in."""

    ORIGINS = [("timer", "Timer"), ("typed", "Typed"), ("prefilled", "Prefilled"), ("allocated", "Allocated")]
    close_out = models.ForeignKey(CloseOut, on_delete=models.PROTECT, related_name="time_entries")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, related_name="time_entries")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="time_entries")
    prescription = models.ForeignKey(
        "planning.Prescription", on_delete=models.PROTECT, null=True, related_name="time_entries"
    )
    step = models.CharField(max_length=40, blank=True)
    work_date = models.DateField()
    minutes = models.PositiveIntegerField()
    origin = models.CharField(max_length=10, choices=ORIGINS)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()

    class Meta:
        ordering = ["close_out_id", "id"]
        constraints = [models.CheckConstraint(condition=Q(minutes__gt=0), name="time_entry_has_minutes")]

    def __str__(self) -> str:
        return f"{self.person} {self.minutes} min on {self.work_date}"


class MaterialUse(AppendOnlyModel, PublicIdModel):
    """Product as packaged, by lot. Amount in microliters or milligrams, beside what was typed."""

    close_out = models.ForeignKey(CloseOut, on_delete=models.PROTECT, related_name="material_uses")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, related_name="material_uses")
    prescription = models.ForeignKey(
        "planning.Prescription", on_delete=models.PROTECT, null=True, related_name="material_uses"
    )
    lot = models.ForeignKey("supplies.StockLot", on_delete=models.PROTECT, related_name="uses")
    amount = models.PositiveBigIntegerField()
    entered_value = models.DecimalField(max_digits=14, decimal_places=4)
    entered_unit = models.CharField(max_length=10)
    work_date = models.DateField()
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()

    class Meta:
        ordering = ["close_out_id", "id"]
        constraints = [models.CheckConstraint(condition=Q(amount__gt=0), name="material_use_has_amount")]

    def __str__(self) -> str:
        return f"{self.entered_value} {self.entered_unit} of {self.lot}"
