"""Notices, the mails that carry several of them, and how a person wants to be told."""

from django.db import models
from django.db.models import Q

from orders.common.models import PublicIdModel, VersionedModel
from orders.reminders.models.deadlines import Deadline
from orders.reminders.models.steps import ReminderStep

USUAL_DIGEST_ABOVE = 5


class ReminderPreference(VersionedModel):
    """What a person chose; what is empty is as the program has it."""

    user = models.OneToOneField("common.User", on_delete=models.PROTECT, related_name="reminder_preference")
    time_zone = models.CharField(max_length=60, blank=True, help_text="Of the person's own clock; empty: the site's.")
    quiet_from = models.TimeField(null=True, blank=True)
    quiet_until = models.TimeField(null=True, blank=True)
    digest_above = models.PositiveSmallIntegerField(
        default=USUAL_DIGEST_ABOVE, help_text="More notices than this at once come in one mail."
    )

    class Meta:
        ordering = ["user_id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quiet_from__isnull=True, quiet_until__isnull=True)
                | Q(quiet_from__isnull=False, quiet_until__isnull=False),
                name="reminder_quiet_hours_whole",
            )
        ]

    def __str__(self) -> str:
        return f"Reminders of {self.user}"


class Mailed(PublicIdModel):
    """A row that goes out by mail once, keyed by its Message-ID.

    `claimed_at`: a run is mailing it right now, or died while it did; `handed_over_at`: the mail server took it;
    `mail_attempts`: how often it may have been taken: each one above the first is a double in the gap of a crash.
    """

    message_id = models.CharField(max_length=400, unique=True)
    made_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True)
    handed_over_at = models.DateTimeField(null=True)
    mail_attempts = models.PositiveSmallIntegerField(default=0)

    class Meta:
        abstract = True


class Digest(Mailed):
    """One mail that lists many notices to one person."""

    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="digests")

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"Digest to {self.user}"


class Notice(Mailed):
    """One reminder to one person. The row is written before the mail goes out, so a step is sent once."""

    deadline = models.ForeignKey(Deadline, on_delete=models.PROTECT, related_name="notices")
    step = models.ForeignKey(ReminderStep, on_delete=models.PROTECT, related_name="notices")
    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="notices")
    digest = models.ForeignKey(Digest, on_delete=models.PROTECT, null=True, related_name="notices")
    subject = models.CharField(max_length=400)
    body = models.TextField()
    acknowledged_at = models.DateTimeField(null=True)
    snoozed_until = models.DateTimeField(null=True)
    snoozes = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["deadline", "step", "user"], name="notice_once_per_step")]
        indexes = [
            models.Index(fields=["made_at"], condition=Q(handed_over_at__isnull=True), name="notice_to_hand_over"),
            models.Index(fields=["user", "acknowledged_at"], name="notice_of_user"),
        ]

    def __str__(self) -> str:
        return self.subject
