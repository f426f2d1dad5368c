"""Estimating every patch in the background: asked for, watched, stopped."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.runs import RunOut
from orders.api.shapes import Out
from orders.bodies.base import Body, Nothing
from orders.bodies.fields import Choice, Day
from orders.common.models.run import STATES
from orders.common.runs import run_cancel
from orders.estimates.left_out import MIX, PRICE
from orders.estimates.models import EstimateRun, RateBook
from orders.estimates.selectors import estimate_run_get, estimate_runs
from orders.estimates.services import estimates_ask


class NotEstimatedOut(Out):
    """A method that was not estimated on patches which it fits."""

    method = serializers.CharField(help_text="Its code.")
    name = serializers.CharField()
    lacks = serializers.ChoiceField([(MIX, "A mix for its herbicide"), (PRICE, "The price of a product")])
    why = serializers.CharField()
    patches = serializers.IntegerField()


class EstimateRunOut(RunOut):
    crew_kind = serializers.ChoiceField(RateBook.CREW_KINDS)
    on_day = serializers.DateField(help_text="The day whose rate book and prices count.")
    surveys_count = serializers.IntegerField(help_text="Patches looked at.")
    made_count = serializers.IntegerField(help_text="Estimates that were not there before.")
    standing_count = serializers.IntegerField(help_text="Estimates that stood already.")
    left_out = NotEstimatedOut(many=True, help_text="What could not be priced; the rest is estimated all the same.")


class EstimateRunIn(Body):
    crew_kind = Choice(RateBook.CREW_KINDS, default="staff")
    on = Day(required=False, help_text="Today where it is left out.")


class EstimateRunFilter(Filters):
    state = AnyOf(words=STATES)
    crew_kind = AnyOf(words=RateBook.CREW_KINDS)


class EstimateRuns(ListEndpoint):
    endpoint = "estimate-runs"
    row = EstimateRunOut
    filters = EstimateRunFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[EstimateRun]:
        """Runs that estimate every patch, the newest first."""
        return estimate_runs()

    @writes(EstimateRunOut, body=EstimateRunIn, status=202, located_at="estimate-run", more_statuses=(404,))
    def post(self) -> EstimateRun:
        """Have every method that fits estimated on the newest survey of every patch; one at work is not doubled."""
        on = self.body.get("on", self.today)
        return estimates_ask(on=on, crew_kind=self.body["crew_kind"], stamp=self.stamp())


class EstimateRunOne(Endpoint):
    endpoint = "estimate-run"

    @shows(EstimateRunOut)
    def get(self, run_id: Any) -> EstimateRun:
        """One run: how far it is, and how many estimates it made."""
        return estimate_run_get(run_id)


class EstimateRunCancel(Endpoint):
    endpoint = "estimate-run-cancel"

    @writes(EstimateRunOut, body=Nothing, status=200)
    def post(self, run_id: Any) -> EstimateRun:
        """Stop a run that is not over; what was estimated by then is kept."""
        run_cancel(estimate_run_get(run_id), at=self.stamp().at)
        return estimate_run_get(run_id)
