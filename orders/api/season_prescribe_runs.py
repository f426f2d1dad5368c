"""What is recommended for a whole season, looked for and prescribed in the background: asked for, watched, stopped."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.runs import RunOut
from orders.bodies.base import Body, Nothing
from orders.bodies.fields import Choice, Id
from orders.common.models.run import STATES
from orders.common.runs import run_cancel
from orders.planning.models import SeasonPrescribeRun
from orders.planning.prescribing import season_prescribe_ask, season_prescribe_run_get, season_prescribe_runs
from orders.planning.selectors import season_get


class SeasonPrescribeRunOut(RunOut):
    season = serializers.UUIDField(source="season.public_id")
    purpose = serializers.ChoiceField(SeasonPrescribeRun.PURPOSES)
    found = serializers.DictField(
        help_text="Once it is done: counts by what becomes of them and by method, the season's loads before and after, "
        "and why patches are left out."
    )
    made_count = serializers.IntegerField(help_text="Prescriptions made, with what follows them.")
    choice = serializers.SerializerMethodField(help_text="The choice that holds them, to be put back by.")

    def get_choice(self, run: SeasonPrescribeRun) -> str | None:
        return str(run.choice.public_id) if run.choice else None


class SeasonPrescribeRunIn(Body):
    id = Id(required=False)
    season = Id()
    purpose = Choice(SeasonPrescribeRun.PURPOSES, help_text="To look alone, or to prescribe what is found.")


class SeasonPrescribeRunFilter(Filters):
    season = OfId(field_name="season__public_id")
    state = AnyOf(words=STATES)
    purpose = AnyOf(words=SeasonPrescribeRun.PURPOSES)


class SeasonPrescribeRuns(ListEndpoint):
    endpoint = "season-prescribe-runs"
    row = SeasonPrescribeRunOut
    filters = SeasonPrescribeRunFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[SeasonPrescribeRun]:
        """Looks at whole seasons, the newest first."""
        return season_prescribe_runs()

    @writes(
        SeasonPrescribeRunOut,
        body=SeasonPrescribeRunIn,
        status=202,
        names_others=True,
        located_at="season-prescribe-run",
    )
    def post(self) -> SeasonPrescribeRun:
        """Have what is recommended for a whole season looked for, or prescribed; one at work is not doubled."""
        body = self.body
        return season_prescribe_ask(
            season=season_get(body["season"]),
            purpose=body["purpose"],
            public_id=body.get("id"),
            stamp=self.stamp(),
        )


class SeasonPrescribeRunOne(Endpoint):
    endpoint = "season-prescribe-run"

    @shows(SeasonPrescribeRunOut)
    def get(self, run_id: Any) -> SeasonPrescribeRun:
        """One run: how far it is, and what it found."""
        return season_prescribe_run_get(run_id)


class SeasonPrescribeRunCancel(Endpoint):
    endpoint = "season-prescribe-run-cancel"

    @writes(SeasonPrescribeRunOut, body=Nothing, status=200)
    def post(self, run_id: Any) -> SeasonPrescribeRun:
        """Stop a run that is not over; nothing is prescribed then."""
        run_cancel(season_prescribe_run_get(run_id), at=self.stamp().at)
        return season_prescribe_run_get(run_id)
