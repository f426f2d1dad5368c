"""Background runs of any kind: how far they are."""

from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import shows
from orders.api.shapes import Row, UserRef
from orders.common.models import Run
from orders.common.models.run import STATES
from orders.common.runs import run_seen_by


class RunOut(Row):
    kind = serializers.CharField()
    state = serializers.ChoiceField(STATES)
    attempt = serializers.IntegerField()
    progress_done = serializers.IntegerField()
    progress_total = serializers.IntegerField()
    progress_note = serializers.CharField()
    cancel_asked = serializers.BooleanField()
    error = serializers.CharField()
    asked_by = UserRef(allow_null=True)
    asked_at = serializers.DateTimeField()
    finished_at = serializers.DateTimeField(allow_null=True)


class RunOne(Endpoint):
    endpoint = "run"

    @shows(RunOut)
    def get(self, run_id: Any) -> Run:
        """Any background run: its state, progress and error. For the desk and for whoever asked for it."""
        return run_seen_by(self.actor, run_id)
