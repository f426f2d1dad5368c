"""What must be done by when, and who was told."""

from datetime import time

from django.db import models
from django.db.models import Q

from orders.common.models import PublicIdModel, VersionedModel

OPEN, MET, LATE, MISSED, ENDED = "open", "met", "late", "missed", "ended"
OWED = (OPEN, LATE, MISSED)

COORDINATORS, LEADS, BOTH = "coordinator", "crew_lead", "both"
FROM_DUE, FROM_FRUIT = "due", "fruit"


class Deadline(VersionedModel):
    """A seed deadline belongs to a patch, a species in one form, and a year; it exists from the survey on, with or
    without an order. Derived: `fingerprint` is of its inputs, and a stale row is computed again."""

    KINDS = [("seed", "Cut before fruit")]
    STATES = [
        (OPEN, "Open"),
        (MET, "Met"),
        (LATE, "Late: fruit was seen"),
        (MISSED, "Missed"),
        (ENDED, "No longer owed"),
    ]
    kind = models.CharField(max_length=10, choices=KINDS, default="seed")
    patch = models.ForeignKey("sites.Patch", on_delete=models.PROTECT, related_name="deadlines")
    species = models.ForeignKey("sites.Species", on_delete=models.PROTECT, related_name="deadlines")
    growth_form = models.ForeignKey("sites.GrowthForm", on_delete=models.PROTECT, related_name="deadlines")
    year = models.PositiveSmallIntegerField()
    survey = models.ForeignKey(
        "sites.Survey", on_delete=models.PROTECT, related_name="deadlines", help_text="The one that it rests on."
    )
    due_on = models.DateField(help_text="The last day, in the site's own time zone.")
    because = models.TextField()
    state = models.CharField(max_length=10, choices=STATES, default=OPEN)
    done_on = models.DateField(null=True, blank=True, help_text="Last day of the work that removed all of it.")
    fingerprint = models.CharField(max_length=64)

    class Meta:
        ordering = ["due_on", "id"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "patch", "species", "growth_form", "year"], name="deadline_once")
        ]
        indexes = [models.Index(fields=["state", "due_on"], name="deadline_state_due")]

    def __str__(self) -> str:
        return f"{self.patch}: {self.species} by {self.due_on}"


class ReminderStep(VersionedModel):
    """One step of the schedule: a moment, and to whom. One step a moment, so that the latest is never two."""

    COUNTS_FROM = [(FROM_DUE, "The due day"), (FROM_FRUIT, "Fruit was seen: at once")]
    AUDIENCES = [
        (COORDINATORS, "Coordinators"),
        (LEADS, "Leads of crews with an order there"),
        (BOTH, "Coordinators and leads of crews with an order there"),
    ]
    kind = models.CharField(max_length=10, choices=Deadline.KINDS, default="seed")
    code = models.SlugField()
    counts_from = models.CharField(max_length=10, choices=COUNTS_FROM, default=FROM_DUE)
    days_before = models.SmallIntegerField(default=0, help_text="Days before the due day; negative: after it.")
    local_time = models.TimeField(default=time(8), help_text="By the site's clock.")
    audience = models.CharField(max_length=12, choices=AUDIENCES)
    text = models.CharField(max_length=200)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "counts_from", "-days_before", "local_time"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "code"], name="reminder_step_code_once"),
            models.UniqueConstraint(
                fields=["kind", "counts_from", "days_before", "local_time"],
                condition=Q(is_active=True),
                name="reminder_step_moment_once",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class Notice(PublicIdModel):
    """One reminder to one person. The row is written before the mail goes out, so a step is sent once.

    `claimed_at`: a run is mailing it right now, or died while it did; `handed_over_at`: the mail server took it.
    """

    deadline = models.ForeignKey(Deadline, on_delete=models.PROTECT, related_name="notices")
    step = models.ForeignKey(ReminderStep, on_delete=models.PROTECT, related_name="notices")
    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="notices")
    message_id = models.CharField(max_length=400, unique=True)
    subject = models.CharField(max_length=400)
    body = models.TextField()
    made_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True)
    handed_over_at = models.DateTimeField(null=True)
    acknowledged_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["deadline", "step", "user"], name="notice_once_per_step")]
        indexes = [
            models.Index(fields=["made_at"], condition=Q(handed_over_at__isnull=True), name="notice_to_hand_over")
        ]

    def __str__(self) -> str:
        return self.subject
