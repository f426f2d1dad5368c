"""The row is the job: written in the same transaction as its cause, claimed with a lease, fenced by its attempt."""

from typing import ClassVar

from django.db import models

from orders.common.models.base import PublicIdModel

QUEUED, RUNNING, DONE, FAILED, CANCELED = "queued", "running", "done", "failed", "canceled"
STATES = [(state, state) for state in (QUEUED, RUNNING, DONE, FAILED, CANCELED)]


class Run(PublicIdModel):
    """Each stage with background work has its own table of runs; `kind` names its worker function."""

    kind: ClassVar[str]

    state = models.CharField(max_length=10, choices=STATES, default=QUEUED)
    attempt = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True)
    cancel_asked = models.BooleanField(default=False)
    progress_done = models.PositiveIntegerField(default=0)
    progress_total = models.PositiveIntegerField(default=0)
    progress_note = models.CharField(max_length=200, blank=True)
    error = models.TextField(blank=True)
    asked_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    asked_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True)

    class Meta:
        abstract = True
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.kind} {self.public_id}: {self.state}"

    @property
    def is_over(self) -> bool:
        return self.state in {DONE, FAILED, CANCELED}
