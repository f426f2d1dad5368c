"""What went wrong or nearly did, and signs that keep people out."""

from django.db import models

from orders.common.models import AppendOnlyModel
from orders.workorders.models.facts import FieldFact
from orders.workorders.models.orders import WorkOrder


class Incident(FieldFact):
    KINDS = [
        ("spill", "Spill"),
        ("exposure", "Exposure"),
        ("injury", "Injury"),
        ("near_miss", "Near miss"),
        ("stop_work", "Stop work"),
    ]
    kind = models.CharField(max_length=10, choices=KINDS)
    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, null=True, related_name="incidents")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, related_name="incidents")
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, null=True, related_name="incidents")
    work_date = models.DateField()
    what_happened = models.TextField()
    what_was_done = models.TextField(blank=True)
    people = models.JSONField(default=list, help_text="Names of those concerned.")
    told = models.CharField(max_length=200, blank=True, help_text="Who was told, and how.")
    work_stopped = models.BooleanField(default=False)
    lon = models.FloatField(null=True)
    lat = models.FloatField(null=True)
    reported_by = models.CharField(max_length=120)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.work_date}"


class IncidentNote(AppendOnlyModel):
    """What the desk adds afterwards."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="notes")
    note = models.TextField()
    is_closing = models.BooleanField(default=False, help_text="Nothing more is to be done about it.")
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["incident_id", "id"]

    def __str__(self) -> str:
        return f"{self.incident}: {self.note[:40]}"


class SignPosting(FieldFact):
    """A notice put up or taken down. `sign` is the same for both."""

    STATES = [("up", "Up"), ("down", "Down")]
    sign = models.UUIDField(db_index=True)
    state = models.CharField(max_length=4, choices=STATES)
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="sign_postings")
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, null=True, related_name="sign_postings")
    place = models.CharField(max_length=120)
    lon = models.FloatField(null=True)
    lat = models.FloatField(null=True)

    class Meta:
        ordering = ["at", "id"]
        constraints = [models.UniqueConstraint(fields=["sign", "state"], name="sign_once_up_once_down")]

    def __str__(self) -> str:
        return f"Sign {self.state}: {self.place}"
