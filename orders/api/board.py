"""The board: asked-for work put on a day, visits taken off theirs, orders drafted of them, and what keeps one back."""

from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import edits, reports, shows, writes
from orders.api.queries import queries_need, queries_read
from orders.api.shapes import Out
from orders.api.visits import NOT_PREVIEWED, WHERE_TO, BreakOut, VisitEndpoint, VisitOut
from orders.api.work_orders import OrderEndpoint, OrderOut, OrderRow, OrderWith
from orders.bodies.base import Body
from orders.bodies.fields import Day, Id, Text, day_read, id_read
from orders.crews.selectors import crew_get
from orders.issuing import issue_obstacles, orders_draft_missing
from orders.moving import visit_add_breaks, visit_add_by_hand, visit_put_back, visit_take_off
from orders.planning.models import Visit
from orders.planning.selectors import prescription_get, season_get
from orders.workorders.services import MOST_INSTRUCTIONS, order_instruct


class PlacePreviewOut(Out):
    share = serializers.FloatField(help_text="Of the prescription; at most what a crew does in a day.")
    hours = serializers.FloatField(help_text="Person-hours in the field.")
    breaks = BreakOut(many=True)
    is_refused = serializers.BooleanField()
    needs_reason = serializers.BooleanField()


class PlacePreview(Endpoint):
    endpoint = "prescription-visit-preview"

    @reports(PlacePreviewOut, queries=WHERE_TO, names_others=True, conflicts=True)
    def get(self, prescription_id: Any) -> dict[str, Any]:
        """What putting a day's piece of it with a crew would break; stores nothing."""
        read = queries_read(self.request, {"crew": id_read, "day": day_read}, wrong=NOT_PREVIEWED)
        queries_need(read, ("crew", "day"), wrong=NOT_PREVIEWED)
        asked, crew = prescription_get(prescription_id), crew_get(read["crew"])
        placed = visit_add_breaks(prescription=asked, crew=crew, day=read["day"])
        refused = any(found.is_hard for found in placed.breaks)
        return {
            "share": placed.share,
            "hours": placed.hours,
            "breaks": placed.breaks,
            "is_refused": refused,
            "needs_reason": bool(placed.breaks) and not refused,
        }


class PlaceIn(Body):
    crew = Id()
    day = Day()
    reason = Text(max_length=200, allow_blank=True, default="", help_text="Needed where it breaks something.")


class PrescriptionVisits(Endpoint):
    endpoint = "prescription-visits"

    @writes(VisitOut, body=PlaceIn, names_others=True)
    def post(self, prescription_id: Any) -> Visit:
        """Put a day's piece of what is left with a crew, judged as a move by hand is."""
        said = self.body
        return visit_add_by_hand(
            prescription=prescription_get(prescription_id),
            crew=crew_get(said["crew"]),
            day=said["day"],
            stamp=self.stamp(said["reason"]),
        )


class OffIn(Body):
    reason = Text(max_length=200, allow_blank=True, default="", help_text="Needed where it is on an order.")


class VisitOff(VisitEndpoint):
    endpoint = "visit-take-off"

    @writes(VisitOut, body=OffIn, status=200)
    def post(self, visit_id: Any) -> Visit:
        """Take a visit off its day: its work is asked for again."""
        visit_take_off(visit=self.visit(visit_id), stamp=self.stamp(self.body["reason"]))
        return self.visit(visit_id)


class VisitBack(VisitEndpoint):
    endpoint = "visit-put-back"

    @writes(VisitOut, status=200)
    def post(self, visit_id: Any) -> Visit:
        """Put a visit back on the day that it was taken off, unless its work is planned otherwise by now."""
        visit_put_back(visit=self.visit(visit_id), stamp=self.stamp())
        return self.visit(visit_id)


class OrdersDraftedOut(Out):
    results = OrderRow(many=True)


class SeasonOrders(Endpoint):
    endpoint = "season-orders"

    @writes(OrdersDraftedOut)
    def post(self, season_id: Any) -> dict[str, Any]:
        """Draft orders for all planned visits that have none: one for each crew, site and week."""
        return {"results": orders_draft_missing(season=season_get(season_id), stamp=self.stamp())}


class ObstacleErrorOut(Out):
    field = serializers.CharField()
    code = serializers.CharField()
    message = serializers.CharField()


class ObstacleOut(Out):
    code = serializers.CharField(help_text="Of the refusal that the issue would give.")
    title = serializers.CharField()
    detail = serializers.CharField()
    errors = ObstacleErrorOut(many=True)  # type: ignore[assignment]  # the metaclass takes it off the class


class ObstaclesOut(Out):
    results = ObstacleOut(many=True)


class Obstacles(OrderEndpoint):
    endpoint = "work-order-obstacles"

    @shows(ObstaclesOut)
    def get(self, order_id: Any) -> dict[str, Any]:
        """All that would keep the order from being issued now; empty: nothing does."""
        return {"results": issue_obstacles(order=self.order(order_id), stamp=self.stamp())}


class InstructionsIn(Body):
    instructions = Text(max_length=MOST_INSTRUCTIONS, allow_blank=True)


class Instructions(OrderEndpoint):
    endpoint = "work-order-instructions"

    @edits(OrderOut, body=InstructionsIn, conflicts=True)
    def put(self, order_id: Any) -> OrderWith:
        """Say to the crew what no method says; until the order is started."""
        order = self.order(order_id)
        expected = self.version_named(self.with_all(order))
        order_instruct(order=order, instructions=self.body["instructions"], expected=expected, stamp=self.stamp())
        return self.with_all(order)
