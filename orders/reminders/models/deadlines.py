"""Deadlines of every kind in one table."""

from django.conf import settings
from django.db import models

from orders.common.models import VersionedModel

OPEN, MET, LATE, MISSED, ENDED = "open", "met", "late", "missed", "ended"
OWED = (OPEN, LATE, MISSED)

KINDS = [
    ("seed", "Cut before fruit"),
    ("window", "Window closing"),
    ("record", "Herbicide record due"),
    ("license", "License or training expiring"),
    ("label", "Label review due"),
    ("stock", "Stock short"),
    ("close", "Order not closed"),
]
# What a rule of a state sets, not the program: nobody puts off its reminders past the day.
STATUTORY = frozenset({"record", "license"})


class Deadline(VersionedModel):
    """Something that must be done by a day. Derived: `fingerprint` is of its inputs, and a stale row is computed again.

    `subject_key` names what it is of, `period` which of several in a row. A seed deadline is of a patch, a species in
    one form, and a year; it exists from the survey on, with or without an order.
    """

    STATES = [
        (OPEN, "Open"),
        (MET, "Met"),
        (LATE, "Late: fruit was seen"),
        (MISSED, "Missed"),
        (ENDED, "No longer owed"),
    ]
    kind = models.CharField(max_length=10, choices=KINDS, default="seed")
    subject_key = models.CharField(max_length=120)
    period = models.CharField(max_length=10)
    title = models.CharField(max_length=300, help_text="What it is of, in words.")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines")
    patch = models.ForeignKey("sites.Patch", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines")
    species = models.ForeignKey(
        "sites.Species", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines"
    )
    growth_form = models.ForeignKey(
        "sites.GrowthForm", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines"
    )
    survey = models.ForeignKey(
        "sites.Survey",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="deadlines",
        help_text="The one that it rests on.",
    )
    prescription = models.ForeignKey(
        "planning.Prescription", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines"
    )
    order = models.ForeignKey(
        "workorders.WorkOrder", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines"
    )
    qualification = models.ForeignKey(
        "crews.Qualification", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines"
    )
    product = models.ForeignKey(
        "supplies.Product", on_delete=models.PROTECT, null=True, blank=True, related_name="deadlines"
    )
    year = models.PositiveSmallIntegerField()
    due_on = models.DateField(help_text="The last day, in the site's own time zone; without a site, the program's.")
    known_at = models.DateTimeField(null=True, blank=True, help_text="No step from before it is sent; null: always.")
    because = models.TextField()
    state = models.CharField(max_length=10, choices=STATES, default=OPEN)
    done_on = models.DateField(null=True, blank=True, help_text="The day on which it was done, in time or late.")
    fingerprint = models.CharField(max_length=64)

    class Meta:
        ordering = ["due_on", "id"]
        constraints = [models.UniqueConstraint(fields=["kind", "subject_key", "period"], name="deadline_once_a_period")]
        indexes = [models.Index(fields=["state", "due_on"], name="deadline_state_due")]

    def __str__(self) -> str:
        return f"{self.title} by {self.due_on}"

    @property
    def time_zone(self) -> str:
        return self.site.time_zone if self.site else str(settings.PROGRAM_TIME_ZONE)

    @property
    def is_statutory(self) -> bool:
        return self.kind in STATUTORY
