"""Remembered replies: the same Idempotency-Key gets the same answer."""

from django.db import models


class RememberedReply(models.Model):
    user = models.ForeignKey("common.User", on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    request_hash = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    body = models.JSONField(null=True)
    headers = models.JSONField(default=dict)
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["user", "key"], name="reply_once_per_key")]

    def __str__(self) -> str:
        return f"{self.key}: {self.status}"
