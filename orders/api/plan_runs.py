"""Plans of a season: asked for, watched, accepted. And the visits that come of them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.fields import Id, Whole
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.funding import ShareIn, fund_shares
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.runs import RunOut
from orders.api.shapes import Body, NamedRef, Nothing, Out, Row, SiteRef, VersionedRow, many
from orders.common.models.run import STATES
from orders.common.runs import run_cancel
from orders.planning.models import PlanRun, Visit
from orders.planning.selectors import plan_run_get, plan_runs, season_get
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import visits_of


class PlanRunRow(RunOut):
    season = NamedRef()
    iterations = serializers.IntegerField()
    cost_cents = serializers.IntegerField(allow_null=True)
    value_cents = serializers.IntegerField(allow_null=True)
    accepted_at = serializers.DateTimeField(allow_null=True)


class LeftOut(Out):
    prescription = serializers.UUIDField()
    patch = serializers.CharField()
    method = serializers.CharField()
    hours = serializers.FloatField()
    constraint = serializers.CharField()
    because = serializers.CharField()


class PlanRunOut(PlanRunRow):
    left_out = LeftOut(many=True)


class PlanRunIn(Body):
    id = Id(required=False)
    season = Id()
    iterations = Whole(default=0, max_value=10_000_000, help_text="Rounds of improvement; 0: the first plan as it is.")


class PlanRunFilter(Filters):
    season = OfId(field_name="season__public_id")
    state = AnyOf(words=STATES)


class PlanRuns(ListEndpoint):
    endpoint = "plan-runs"
    row = PlanRunRow
    filters = PlanRunFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[PlanRun]:
        """Plans asked for, the newest first."""
        return plan_runs()

    @writes(PlanRunRow, body=PlanRunIn, status=202, names_others=True, located_at="plan-run")
    def post(self) -> PlanRun:
        """Ask for a plan; a worker makes it in the background."""
        season, iterations = season_get(self.body["season"]), self.body["iterations"]
        named = self.body.get("id")
        return flow.plan_season(season=season, iterations=iterations, public_id=named, stamp=self.stamp())


class PlanRunOne(Endpoint):
    endpoint = "plan-run"

    @shows(PlanRunOut)
    def get(self, run_id: Any) -> PlanRun:
        """One plan: how far it is, what it costs, and what it leaves out and why."""
        return plan_run_get(run_id)


class PlanRunCancel(Endpoint):
    endpoint = "plan-run-cancel"

    @writes(PlanRunRow, body=Nothing, status=200)
    def post(self, run_id: Any) -> PlanRun:
        """Stop a plan that is not over."""
        run_cancel(plan_run_get(run_id), at=self.stamp().at)
        return plan_run_get(run_id)


class AcceptIn(Body):
    funding = many(ShareIn, required=False, most=20, help_text="Who pays for the orders.")


class DraftedOut(Row):
    number = serializers.IntegerField()
    site = SiteRef()
    crew = NamedRef()
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class AcceptedOut(Out):
    orders = DraftedOut(many=True)


class PlanRunAccept(Endpoint):
    endpoint = "plan-run-accept"

    @writes(AcceptedOut, body=AcceptIn, names_others=True)
    def post(self, run_id: Any) -> dict[str, list[WorkOrder]]:
        """Take a finished plan: its visits become the plan, and its orders are drafted."""
        funding = fund_shares(self.body.get("funding", []))
        return {"orders": flow.accept_plan(run=plan_run_get(run_id), funding=funding, stamp=self.stamp())}


class VisitShareOut(Out):
    prescription = serializers.UUIDField(source="prescription.public_id")
    patch = serializers.CharField(source="prescription.patch.code")
    method = serializers.CharField(source="prescription.method.code")
    planned_hours = serializers.FloatField()
    share = serializers.FloatField()


class VisitOut(VersionedRow):
    season = NamedRef()
    crew = NamedRef()
    site = SiteRef()
    day = serializers.DateField()
    state = serializers.ChoiceField(Visit.STATES)
    not_done_reason = serializers.CharField()
    shares = VisitShareOut(many=True)


class VisitFilter(Filters):
    season = OfId(field_name="season__public_id")
    plan_run = OfId(field_name="plan_run__public_id")
    crew = OfId(field_name="crew__public_id")
    site = OfId(field_name="site__public_id")
    state = AnyOf(words=Visit.STATES)
    day_from = OnDay(field_name="day", lookup_expr="gte")
    day_to = OnDay(field_name="day", lookup_expr="lte")


class Visits(ListEndpoint):
    endpoint = "visits"
    row = VisitOut
    from_columns = True
    filters = VisitFilter
    sorts = {"day": "day", "crew": "crew__name", "site": "site__code"}
    usual_sort = "day"

    def rows(self) -> QuerySet[Visit]:
        """Crews on days: a crew lead's are those on own orders."""
        return visits_of(self.actor, on=self.today).defer("site__boundary")
