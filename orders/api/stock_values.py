"""What stock is worth, and what a season still needs to buy. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay
from orders.api.operations import reports
from orders.api.paging import ListEndpoint
from orders.api.queries import A_DAY, AN_ID, queries_need, queries_read
from orders.api.shapes import NamedRef, Out, Row
from orders.bodies.fields import day_read, id_read
from orders.costs.purchase_list import PurchaseList, purchase_list
from orders.costs.stock_selectors import StockOnHand, stock_on_hand, stock_values
from orders.planning.selectors import season_get

ON = ("on", A_DAY, "A day; without it, today.")
MOST_SIZES, MOST_ML = 10, 1_000_000


class StockLotValue(Out):
    lot = serializers.UUIDField(source="lot.public_id")
    lot_number = serializers.CharField(source="lot.lot_number")
    amount = serializers.IntegerField()
    value_cents = serializers.IntegerField()


class StockProductValue(Out):
    product = serializers.CharField(source="product.code")
    unit = serializers.CharField(help_text="uL: microliters, mg: milligrams.")
    amount = serializers.IntegerField()
    value_cents = serializers.IntegerField()
    lots = StockLotValue(many=True)


class StockOnHandOut(Out):
    on = serializers.DateField()
    valuation = serializers.CharField(help_text="How stock that leaves on that day is valued.")
    value_cents = serializers.IntegerField()
    waiting = serializers.IntegerField(help_text="Movements up to the day that have no value yet.")
    rows = StockProductValue(many=True)


class StockWorth(Endpoint):
    endpoint = "stock-value"

    @reports(StockOnHandOut, queries=(ON,))
    def get(self) -> StockOnHand:
        """What there was on a day and what it was worth, by product and lot."""
        asked = queries_read(self.request, {"on": day_read}, wrong="Stock cannot be asked for that way.")
        return stock_on_hand(self.actor, asked.get("on", self.today))


class StockValueOut(Row):
    movement = serializers.UUIDField(source="movement.public_id")
    kind = serializers.CharField(source="movement.kind")
    on = serializers.DateField(source="movement.on")
    product = serializers.CharField(source="product.code")
    lot_number = serializers.CharField(source="movement.lot.lot_number")
    amount = serializers.IntegerField(help_text="Signed, in the lot's unit.")
    value_cents = serializers.IntegerField(help_text="Signed: receipts and finds add.")
    valuation = serializers.CharField()


class StockValueFilter(Filters):
    product = OfId(field_name="product__public_id")
    lot = OfId(field_name="movement__lot__public_id")
    day_from = OnDay(field_name="movement__on", lookup_expr="gte")
    day_to = OnDay(field_name="movement__on", lookup_expr="lte")


class StockValues(ListEndpoint):
    endpoint = "stock-values"
    row = StockValueOut
    filters = StockValueFilter
    sorts = {"id": "id"}
    usual_sort = "-id"

    def rows(self) -> QuerySet[Any]:
        """What each movement of stock was worth when it was posted."""
        return stock_values(self.actor)


class ContainersOut(Out):
    volume_ml = serializers.IntegerField()
    count = serializers.IntegerField()


class BuyOut(Out):
    product = NamedRef()
    code = serializers.CharField(source="product.code")
    need_ml = serializers.IntegerField(help_text="What open orders and prescriptions of the season still take.")
    stock_ml = serializers.IntegerField()
    containers = ContainersOut(many=True)
    spare_ml = serializers.IntegerField(help_text="What will be left over, stock included.")
    price_e4 = serializers.IntegerField(allow_null=True, help_text="1/10,000 dollars a liter on that day.")
    cost_cents = serializers.IntegerField(allow_null=True)
    supplier = serializers.CharField()


class PurchaseListOut(Out):
    season = NamedRef()
    on = serializers.DateField()
    rows = BuyOut(many=True)
    cost_cents = serializers.IntegerField(help_text="Of those that have a price.")
    without_price = serializers.IntegerField()


def sizes_read(text: str) -> list[int]:
    """Container sizes in milliliters, with commas between them."""
    parts = text.split(",")
    sizes = sorted({int(part) for part in parts if part.isascii() and part.isdecimal() and len(part) <= 7})
    if len(parts) > MOST_SIZES or len(sizes) < len(parts) or not 50 <= sizes[0] <= sizes[-1] <= MOST_ML:
        raise ValueError(f"must be up to {MOST_SIZES} different sizes from 50 to {MOST_ML} mL, such as 1000,10000")
    return sizes


class PurchaseListOne(Endpoint):
    endpoint = "purchase-list"
    queries = (
        ("season", AN_ID, "Of which season."),
        ON,
        ("sizes", {"type": "string", "pattern": r"^[0-9]{2,7}(,[0-9]{2,7}){0,9}$"}, "Container sizes, in mL."),
    )

    @reports(PurchaseListOut, queries=queries, names_others=True)
    def get(self) -> PurchaseList:
        """What the season still needs to buy, in whole containers at least cost by the liter's price of the day."""
        wrong = "The purchase list cannot be asked for that way."
        readers = {"season": id_read, "on": day_read, "sizes": sizes_read}
        asked = queries_read(self.request, readers, wrong=wrong)
        queries_need(asked, ("season",), wrong=wrong)
        more = {"sizes_ml": asked["sizes"]} if "sizes" in asked else {}
        return purchase_list(self.actor, season_get(asked["season"]), asked.get("on", self.today), **more)
