"""One change record per write: the version it made, who did it and why, and the feed row that tells others."""

from django.db import models

from orders.common.models.base import AppendOnlyModel, PublicIdModel


class Change(AppendOnlyModel, PublicIdModel):
    """The integer id is the place in the feed: on PostgreSQL it is taken under a lock, so ids commit in order."""

    at = models.DateTimeField()
    actor = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="changes")
    verb = models.CharField(max_length=60)
    entity = models.CharField(max_length=60)
    entity_id = models.UUIDField()
    entity_version = models.PositiveIntegerField(null=True)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    reason = models.TextField(blank=True)

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["entity", "entity_id", "id"], name="change_entity")]

    def __str__(self) -> str:
        return f"{self.verb} {self.entity} {self.entity_id}"


class ChangeAudience(AppendOnlyModel):
    """Who a change concerns: a crew's public id. `gone` is the tombstone: the thing has left this crew."""

    change = models.ForeignKey(Change, on_delete=models.PROTECT, related_name="audience")
    crew_id = models.UUIDField()
    gone = models.BooleanField(default=False)

    class Meta:
        ordering = ["change_id", "crew_id"]
        constraints = [models.UniqueConstraint(fields=["change", "crew_id"], name="change_audience_once")]
        indexes = [models.Index(fields=["crew_id", "change"], name="change_audience_crew")]

    def __str__(self) -> str:
        return f"{self.change_id} for {self.crew_id}"
