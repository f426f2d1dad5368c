"""Visits: which crew is where on which day, why, and moving one by hand."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay, YesNo
from orders.api.operations import edits, reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.queries import A_DAY, AN_ID, queries_need, queries_read
from orders.api.shapes import NamedRef, Out, SiteRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Day, Flag, Id, Text, day_read, id_read
from orders.crews.selectors import crew_get
from orders.planning.models import Visit
from orders.workorders.selectors import visit_get, visits_of


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
    order = serializers.IntegerField(
        source="order_visit.order.number", allow_null=True, help_text="Number of the work order that it is on."
    )
    plan_run = serializers.UUIDField(source="plan_run.public_id", allow_null=True)
    because = serializers.ListField(
        child=serializers.CharField(), help_text="Why this crew and this day, a sentence each."
    )
    is_kept = serializers.BooleanField(help_text="Set by hand: a new plan leaves it where it is.")
    kept_because = serializers.CharField()
    replaces = serializers.UUIDField(source="replaces.public_id", allow_null=True, help_text="The visit that it moves.")
    shares = VisitShareOut(many=True)


class VisitFilter(Filters):
    season = OfId(field_name="season__public_id")
    plan_run = OfId(field_name="plan_run__public_id")
    crew = OfId(field_name="crew__public_id")
    site = OfId(field_name="site__public_id")
    state = AnyOf(words=Visit.STATES)
    day_from = OnDay(field_name="day", lookup_expr="gte")
    day_to = OnDay(field_name="day", lookup_expr="lte")
    is_kept = YesNo()


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


class VisitEndpoint(Endpoint):
    """An address of one visit, within the actor's scope."""

    def visit(self, visit_id: Any) -> Visit:
        return visit_get(self.actor, visit_id, on=self.today)


class VisitOne(VisitEndpoint):
    endpoint = "visit"

    @shows(VisitOut)
    def get(self, visit_id: Any) -> Visit:
        """One visit: what it serves, and why this crew and this day."""
        return self.visit(visit_id)


class BreakOut(Out):
    kind = serializers.CharField(
        help_text="license, label, window, seed deadline, closed, day off, hours, chain, equipment, money or nobody."
    )
    words = serializers.CharField()
    is_hard = serializers.BooleanField(help_text="A hard one is refused; the others need a reason.")


class MovePreviewOut(Out):
    breaks = BreakOut(many=True)
    is_refused = serializers.BooleanField()
    needs_reason = serializers.BooleanField()


WHERE_TO = (("crew", AN_ID, "The crew that would go."), ("day", A_DAY, "The day it would go on."))
NOT_PREVIEWED = "The move cannot be shown that way."


class VisitMovePreview(VisitEndpoint):
    endpoint = "visit-move-preview"

    @reports(MovePreviewOut, queries=WHERE_TO, names_others=True, conflicts=True)
    def get(self, visit_id: Any) -> dict[str, Any]:
        """What a move would break; stores nothing."""
        read = queries_read(self.request, {"crew": id_read, "day": day_read}, wrong=NOT_PREVIEWED)
        queries_need(read, ("crew", "day"), wrong=NOT_PREVIEWED)
        breaks = flow.move_preview(visit=self.visit(visit_id), crew=crew_get(read["crew"]), day=read["day"])
        refused = any(found.is_hard for found in breaks)
        return {"breaks": breaks, "is_refused": refused, "needs_reason": bool(breaks) and not refused}


class MoveIn(Body):
    crew = Id()
    day = Day()
    keep = Flag(default=True, help_text="A new plan leaves it there.")
    reason = Text(max_length=200, allow_blank=True, default="", help_text="Needed where the move breaks something.")


class VisitMove(VisitEndpoint):
    endpoint = "visit-move"

    @edits(VisitOut, body=MoveIn, names_others=True, conflicts=True)
    def put(self, visit_id: Any) -> Visit:
        """Move a visit by hand to a crew and a day. What breaks a license, a label or a closure is refused."""
        visit = self.visit(visit_id)
        self.version_named(visit)
        crew, stamp = crew_get(self.body["crew"]), self.stamp(self.body["reason"])
        flow.move_visit(visit=visit, crew=crew, day=self.body["day"], keep=self.body["keep"], stamp=stamp)
        return self.visit(visit_id)


class VisitFree(VisitEndpoint):
    endpoint = "visit-free"

    @writes(VisitOut, status=200)
    def post(self, visit_id: Any) -> Visit:
        """Let a new plan move it again."""
        flow.put_visit_free(visit=self.visit(visit_id), stamp=self.stamp())
        return self.visit(visit_id)
