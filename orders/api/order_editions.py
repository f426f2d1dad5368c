"""Editions of an order: what was printed for its crew, and what changed since. The packet as plain values."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.operations import shows, writes
from orders.api.shapes import Out, Row, UserRef
from orders.api.work_orders import OrderEndpoint
from orders.bodies.base import Nothing
from orders.carried.orders import orders_shown
from orders.carried.sites import sites_shown
from orders.workorders.models import OrderEdition
from orders.workorders.printing import EditionState, edition_state, order_edition_print


class EditionRow(Row):
    number = serializers.IntegerField()
    printed_at = serializers.DateTimeField()
    by = UserRef(allow_null=True)
    sha256 = serializers.CharField(help_text="Of what the crew must know: two editions that say the same share it.")


class EditionsOut(Out):
    newest = EditionRow(allow_null=True)
    changes = serializers.ListField(child=serializers.CharField(), help_text="Since the newest, in words.")
    editions = EditionRow(many=True)


class Editions(OrderEndpoint):
    endpoint = "work-order-editions"

    @shows(EditionsOut, has_etag=False)
    def get(self, order_id: Any) -> dict[str, Any]:
        """What was printed of the order, and what has changed since."""
        order = self.order(order_id)
        state: EditionState = edition_state(order)
        rows: QuerySet[OrderEdition] = order.editions.select_related("by").order_by("-number")
        return {"newest": state.newest, "changes": state.changes, "editions": rows}

    @writes(EditionRow, body=Nothing)
    def post(self, order_id: Any) -> OrderEdition:
        """Say that it is printed now: a new edition where something changed, else the newest once more."""
        return order_edition_print(order=self.order(order_id), stamp=self.stamp())


class PacketOut(Out):
    order = serializers.DictField(help_text="As a tablet carries it: work, mixes, cautions, people's tasks.")
    site = serializers.DictField(help_text="The way in, the emergency plan, the checklist, the rule on records.")


class Packet(OrderEndpoint):
    endpoint = "work-order-packet"

    @shows(PacketOut, has_etag=False)
    def get(self, order_id: Any) -> dict[str, Any]:
        """All that a crew carries of the order, as plain values; as PDF it is on the desk's page."""
        order = self.order(order_id)
        return {"order": orders_shown([order])[0], "site": sites_shown([order.site], self.stamp())[0]}
