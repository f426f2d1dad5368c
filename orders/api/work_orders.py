"""Work orders: what a crew is sent to do. A crew lead sees the orders of own crews; for others there are none."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.funding import ShareOut
from orders.api.operations import shows
from orders.api.paging import ListEndpoint
from orders.api.permissions import FUNDERS
from orders.api.shapes import NamedRef, Out, Row, SiteRef, UserRef, VersionedRow
from orders.api.statements import CloseOutOut
from orders.api.visits import VisitShareOut
from orders.costs.selectors import order_funding_of
from orders.planning.models import Visit
from orders.workorders.label_cards import label_shown
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import close_outs, order_get, order_visits, orders_of, overrides


class OrderRow(VersionedRow):
    number = serializers.IntegerField()
    season = NamedRef()
    site = SiteRef()
    crew = NamedRef()
    state = serializers.ChoiceField(WorkOrder.STATES)
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    issued_at = serializers.DateTimeField(allow_null=True)
    started_at = serializers.DateTimeField(allow_null=True)
    closed_at = serializers.DateTimeField(allow_null=True)


class OrderVisitOut(VersionedRow):
    day = serializers.DateField()
    state = serializers.ChoiceField(Visit.STATES)
    not_done_reason = serializers.CharField()
    shares = VisitShareOut(many=True)


class OverrideOut(Row):
    limit_kind = serializers.CharField()
    limit = serializers.CharField()
    reason = serializers.CharField()
    by = UserRef()
    at = serializers.DateTimeField()


class CardUseOut(Out):
    method = serializers.CharField()
    max_percent_vv = serializers.FloatField(allow_null=True)
    max_l_per_ha = serializers.FloatField(allow_null=True)


class CardWeatherOut(Out):
    measure = serializers.CharField(help_text="wind_m_s or temperature_c")
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    kind = serializers.CharField()
    reference = serializers.CharField()


class CardProductOut(Out):
    code = serializers.CharField()
    name = serializers.CharField()
    registration_number = serializers.CharField()
    label_version = serializers.CharField()
    label_reference = serializers.CharField()
    reviewed_on = serializers.DateField(allow_null=True)
    signal_word = serializers.CharField()
    methods = serializers.ListField(child=serializers.CharField(), help_text="Of the order, that it is for.")
    ingredients = serializers.DictField(help_text="Grams of acid equivalent a liter.")
    uses = CardUseOut(many=True)
    weather = CardWeatherOut(many=True)
    rain_free_hours = serializers.FloatField(allow_null=True)
    restricted_entry_hours = serializers.IntegerField(
        allow_null=True, help_text="Where the worker-protection rules apply; else entry_rule holds."
    )
    entry_rule = serializers.CharField()
    protective_equipment = serializers.CharField()
    cautions = serializers.CharField()
    storage_note = serializers.CharField()
    soil_active = serializers.BooleanField()
    aquatic = serializers.BooleanField()
    least_water_distance_m = serializers.FloatField()


class LabelCardOut(Out):
    version = serializers.IntegerField()
    at = serializers.DateTimeField(allow_null=True, help_text="When it was put on the order; null: as labels stand.")
    notice = serializers.CharField()
    rain_free_hours = serializers.FloatField(allow_null=True, help_text="The longest of all products.")
    restricted_entry_hours = serializers.IntegerField(allow_null=True, help_text="The longest of all products.")
    products = CardProductOut(many=True)


class OrderOut(OrderRow):
    only_for = {"funding": FUNDERS}

    instructions = serializers.CharField()
    void_reason = serializers.CharField()
    visits = OrderVisitOut(many=True)
    overrides = OverrideOut(many=True)
    label = LabelCardOut(  # type: ignore[assignment]  # the metaclass takes it off the class, where Field has a label
        help_text="What the labels say, kept as it was at issue: limits, equipment, entry, cautions."
    )
    funding = ShareOut(many=True, help_text="Who pays, as shares; for finance and the coordinator.")


class OrderWith:
    """An order with all that its page shows, read once."""

    def __init__(self, order: WorkOrder, endpoint: Endpoint) -> None:
        self._order = order
        self.visits = list(order_visits(order))
        self.overrides = list(overrides(order))
        self.label = label_shown(order)
        self.funding = order_funding_of(endpoint.actor, order) or []

    def __getattr__(self, name: str) -> Any:
        return getattr(self._order, name)


class OrderFilter(Filters):
    state = AnyOf(words=WorkOrder.STATES)
    site = OfId(field_name="site__public_id")
    crew = OfId(field_name="crew__public_id")
    season = OfId(field_name="season__public_id")
    day_from = OnDay(field_name="last_day", lookup_expr="gte", help_text="Orders that end on this day or later.")
    day_to = OnDay(field_name="first_day", lookup_expr="lte", help_text="Orders that begin on this day or earlier.")


class WorkOrders(ListEndpoint):
    endpoint = "work-orders"
    row = OrderRow
    from_columns = True
    filters = OrderFilter
    sorts = {"number": "number", "first_day": "first_day", "last_day": "last_day", "site": "site__code"}
    usual_sort = "number"

    def rows(self) -> QuerySet[WorkOrder]:
        """Work orders; a crew lead's are those of own crews, once they are issued."""
        return orders_of(self.actor, on=self.today).defer("site__boundary", "instructions", "label")


class OrderEndpoint(Endpoint):
    """An address of one order, within the actor's scope."""

    def order(self, order_id: Any) -> WorkOrder:
        return order_get(self.actor, order_id, on=self.today)

    def with_all(self, order: WorkOrder) -> OrderWith:
        return OrderWith(order, self)


class WorkOrderOne(OrderEndpoint):
    endpoint = "work-order"

    @shows(OrderOut)
    def get(self, order_id: Any) -> OrderWith:
        """One order with its visits and what each serves."""
        return self.with_all(self.order(order_id))


class CloseOutsOut(Out):
    results = CloseOutOut(many=True)


class CloseOuts(OrderEndpoint):
    endpoint = "work-order-close-outs"

    @shows(CloseOutsOut)
    def get(self, order_id: Any) -> dict[str, Any]:
        """What was stated at the close, every revision; the last one counts."""
        return {"results": close_outs(self.order(order_id))}
