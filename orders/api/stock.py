"""Registered products with the facts of their labels, and what there is of them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from estimating.labels import THE_LAW
from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord, OnDay, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Day, Exact, Id, Text
from orders.bodies.products import ProductIn, ProductReplace, ReviewIn, label_read
from orders.costs.services.stocking import stock_move_posted
from orders.supplies.amounts import ENTRY_UNITS
from orders.supplies.models import FORMULATIONS, LIMIT_KINDS, LabelWeather, Product, StockLot, StockMovement
from orders.supplies.selectors import lot_get, lots, product_get, products, stock_by_product, stock_movements
from orders.supplies.services import product_add, product_edit, product_review


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
    is_active = serializers.BooleanField(help_text="Whether it is offered for anything new.")


class IngredientOut(Out):
    ingredient = serializers.CharField()
    ae_g_per_l = serializers.FloatField()


class CapOut(Out):
    ingredient = serializers.CharField()
    kg_ae_per_ha = serializers.FloatField()
    period = serializers.CharField()
    area_basis = serializers.CharField()
    year_basis = serializers.CharField()
    method = serializers.CharField(help_text="Of one use of the label; empty: of all of them.")
    kind = serializers.ChoiceField(LIMIT_KINDS)
    reference = serializers.CharField()


class UseOut(Out):
    method = serializers.CharField()
    max_percent_vv = serializers.FloatField(allow_null=True)
    max_l_per_ha = serializers.FloatField(allow_null=True, help_text="Of product, in one application.")
    least_days_between = serializers.IntegerField(allow_null=True, help_text="From one use on the ground to the next.")
    most_uses_a_year = serializers.IntegerField(allow_null=True, help_text="On the same ground.")
    reference = serializers.CharField()


class WeatherOut(Out):
    measure = serializers.ChoiceField(LabelWeather.MEASURES)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    kind = serializers.ChoiceField(LIMIT_KINDS)
    reference = serializers.CharField()


class ProductOut(ProductRow):
    reviewed_by = serializers.CharField()
    formulation = serializers.ChoiceField(
        FORMULATIONS, allow_blank=True, help_text="When it goes into the tank; empty: as is usual for its part."
    )
    soil_active = serializers.BooleanField()
    aquatic = serializers.BooleanField()
    no_annual_cap = serializers.ListField(child=serializers.CharField())
    least_water_distance_m = serializers.FloatField()
    label_uses = UseOut(many=True)
    weather = WeatherOut(many=True, source="label_weather")
    rain_free_hours = serializers.FloatField(allow_null=True)
    entry_rule = serializers.CharField()
    restricted_entry_hours = serializers.IntegerField(allow_null=True)
    protective_equipment = serializers.CharField()
    cautions = serializers.CharField()
    storage_note = serializers.CharField()
    ingredients = IngredientOut(many=True)
    caps = CapOut(many=True)
    notice = serializers.CharField(default=THE_LAW)


class ProductFilter(Filters):
    code = OfWord()
    is_active = YesNo()
    is_herbicide = YesNo()


class Products(ListEndpoint):
    endpoint = "products"
    row = ProductRow
    filters = ProductFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Product]:
        """Products, each one version of one label."""
        return products().prefetch_related(None).prefetch_related("label_uses")

    @writes(ProductOut, body=ProductIn, located_at="product")
    def post(self) -> Product:
        """Add a product with what was read from its label. What the label guard lacks, it refuses every use for."""
        own, label = label_read(self.body)
        return product_get(product_add(label=label, stamp=self.stamp(), **own).public_id)


class ProductOne(Endpoint):
    endpoint = "product"

    @shows(ProductOut)
    def get(self, product_id: Any) -> Product:
        """One product with its caps, cautions and protective equipment. The label is the law."""
        return product_get(product_id)

    @edits(ProductOut, body=ProductReplace)
    def put(self, product_id: Any) -> Product:
        """Replace what is kept of a label by what was read anew, or take the product out of use.

        Issued orders keep theirs. Facts that differ need a new review. It stays in use while it goes into a mix in
        use."""
        row = product_get(product_id)
        expected = self.version_named(row)
        own, label = label_read(self.body)
        product_edit(product=row, label=label, expected=expected, stamp=self.stamp(), **own)
        return product_get(product_id)


class ProductReview(Endpoint):
    endpoint = "product-review"

    @writes(ProductOut, body=ReviewIn, status=200)
    def post(self, product_id: Any) -> Product:
        """Keep that a licensed person compared what stands here with the label, and found it so."""
        told = {name: self.body[name] for name in ("reviewed_on", "reviewed_by")}
        product_review(product=product_get(product_id), expected=self.body["version"], stamp=self.stamp(), **told)
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
        lot = lot_get(self.body.pop("lot"))
        return stock_move_posted(lot=lot, posted_on=self.today, stamp=self.stamp(), **self.body)
