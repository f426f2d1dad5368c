"""Registered products with the facts of their labels, and what there is of them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.fields import Choice, Day, Exact, Id, Text
from orders.api.filters import AnyOf, Filters, OfId, OfWord, OnDay, YesNo
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Body, Out, Row, UserRef, VersionedRow
from orders.supplies.amounts import ENTRY_UNITS
from orders.supplies.models import LIMIT_KINDS, Product, StockLot, StockMovement
from orders.supplies.selectors import lot_get, lots, product_get, products, stock_by_product, stock_movements
from orders.supplies.services import stock_move

THE_LAW = "The label is the law. Local rules and a licensed applicator decide."


class ProductRef(Row):
    code = serializers.CharField()
    name = serializers.CharField()


class ProductRow(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    registration_number = serializers.CharField()
    label_version = serializers.CharField()
    label_reference = serializers.CharField()
    reviewed_on = serializers.DateField(allow_null=True)
    is_herbicide = serializers.BooleanField()
    signal_word = serializers.CharField()
    states = serializers.ListField(child=serializers.CharField())
    uses = serializers.ListField(child=serializers.CharField())


class IngredientOut(Out):
    ingredient = serializers.CharField()
    ae_g_per_l = serializers.FloatField()


class CapOut(Out):
    ingredient = serializers.CharField()
    kg_ae_per_ha = serializers.FloatField()
    period = serializers.CharField()
    area_basis = serializers.CharField()
    year_basis = serializers.CharField()
    kind = serializers.ChoiceField(LIMIT_KINDS)
    reference = serializers.CharField()


class ProductOut(ProductRow):
    reviewed_by = serializers.CharField()
    soil_active = serializers.BooleanField()
    aquatic = serializers.BooleanField()
    no_annual_cap = serializers.ListField(child=serializers.CharField())
    least_water_distance_m = serializers.FloatField()
    max_percent_vv = serializers.DictField()
    min_temp_c = serializers.FloatField(allow_null=True)
    max_temp_c = serializers.FloatField(allow_null=True)
    max_wind_m_s = serializers.FloatField(allow_null=True)
    rain_free_hours = serializers.FloatField(allow_null=True)
    entry_rule = serializers.CharField()
    restricted_entry_hours = serializers.IntegerField(allow_null=True)
    protective_equipment = serializers.CharField()
    cautions = serializers.CharField()
    ingredients = IngredientOut(many=True)
    caps = CapOut(many=True)
    notice = serializers.CharField(default=THE_LAW)


class ProductFilter(Filters):
    code = OfWord()
    is_herbicide = YesNo()


class Products(ListEndpoint):
    endpoint = "products"
    row = ProductRow
    filters = ProductFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Product]:
        """Products, each one version of one label."""
        return products().prefetch_related(None)


class ProductOne(Endpoint):
    endpoint = "product"

    @shows(ProductOut)
    def get(self, product_id: Any) -> Product:
        """One product with its caps, cautions and protective equipment. The label is the law."""
        return product_get(product_id)


class LotOut(Row):
    product = ProductRef()
    lot_number = serializers.CharField()
    unit = serializers.CharField(help_text="uL: microliters, mg: milligrams.")
    held = serializers.IntegerField(help_text="In that unit; below zero until a count sets it right.")
    received_on = serializers.DateField()


class LotFilter(Filters):
    product = OfId(field_name="product__public_id")


class Lots(ListEndpoint):
    endpoint = "lots"
    row = LotOut
    from_columns = True
    filters = LotFilter
    sorts = {"id": "id", "received_on": "received_on", "product": "product__code"}

    def rows(self) -> QuerySet[StockLot]:
        """What came in together: one product, one lot number; and what it holds now."""
        return lots()


class HeldOut(Out):
    product = ProductRef()
    unit = serializers.CharField()
    held = serializers.IntegerField()
    lots = serializers.IntegerField()


class StockOut(Out):
    results = HeldOut(many=True)


class Stock(Endpoint):
    endpoint = "stock"

    @shows(StockOut)
    def get(self) -> dict[str, Any]:
        """What there is of each product, over all its lots."""
        return {"results": stock_by_product()}


class MovementOut(Row):
    lot = serializers.UUIDField(source="lot.public_id")
    product = serializers.CharField(source="lot.product.code")
    kind = serializers.ChoiceField(StockMovement.KINDS)
    amount = serializers.IntegerField(help_text="Signed, in the lot's unit.")
    entered_value = serializers.DecimalField(max_digits=14, decimal_places=4)
    entered_unit = serializers.CharField()
    on = serializers.DateField()
    at = serializers.DateTimeField()
    by = UserRef(allow_null=True)
    reason = serializers.CharField()


class MovementIn(Body):
    lot = Id()
    kind = Choice(["receipt", "count", "write_off"], help_text="For a count, the amount is what was found there.")
    amount = Exact()
    unit = Choice(ENTRY_UNITS)
    on = Day()
    reason = Text(max_length=200, allow_blank=True, default="")


class MovementFilter(Filters):
    lot = OfId(field_name="lot__public_id")
    kind = AnyOf(words=StockMovement.KINDS)
    day_from = OnDay(field_name="on", lookup_expr="gte")
    day_to = OnDay(field_name="on", lookup_expr="lte")


class StockMovements(ListEndpoint):
    endpoint = "stock-movements"
    row = MovementOut
    from_columns = True
    filters = MovementFilter
    sorts = {"id": "id", "on": "on"}
    usual_sort = "-id"

    def rows(self) -> QuerySet[StockMovement]:
        """What came, went and was counted, the newest first."""
        return stock_movements()

    @writes(MovementOut, body=MovementIn, names_others=True)
    def post(self) -> StockMovement:
        """Receive, count or write off. What crews use is taken by the close of their orders."""
        return stock_move(lot=lot_get(self.body.pop("lot")), stamp=self.stamp(), **self.body)
