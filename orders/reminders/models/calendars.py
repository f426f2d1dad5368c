"""A person's calendar as other programs read it: the secret that opens it, and what it shows."""

from django.db import models
from django.db.models import Q

from orders.common.models import PublicIdModel


class CalendarFeed(PublicIdModel):
    """An address that opens one person's calendar without a login. The secret is kept as its hash alone."""

    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="calendar_feeds")
    secret_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["user"], condition=Q(revoked_at__isnull=True), name="calendar_feed_one_a_person"
            )
        ]

    def __str__(self) -> str:
        return f"Calendar of {self.user}"


class CalendarItem(PublicIdModel):
    """One entry of a person's calendar. `uid` and `sequence` are RFC 5545's: the same thing keeps its UID, and each
    change raises the sequence; an entry that fell away stays for a while as cancelled."""

    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="calendar_items")
    uid = models.CharField(max_length=300)
    sequence = models.PositiveIntegerField(default=0)
    fingerprint = models.CharField(max_length=64)
    day = models.DateField()
    summary = models.CharField(max_length=300)
    description = models.TextField(blank=True)
    location = models.CharField(max_length=200, blank=True)
    has_alarm = models.BooleanField(default=False)
    added_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["day", "id"]
        constraints = [models.UniqueConstraint(fields=["user", "uid"], name="calendar_item_once")]

    def __str__(self) -> str:
        return self.summary
