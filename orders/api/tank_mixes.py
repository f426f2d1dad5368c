"""Mixes with what goes into each, and prices from a day on."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfWord, OnDay, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, VersionedRow
from orders.bodies.products import MixIn, MixReplace, PriceIn
from orders.common.errors import FieldError, Invalid
from orders.supplies.labels import PartFacts
from orders.supplies.models import Mix, Price
from orders.supplies.selectors import mix_get, mixes, prices_listed, products_named
from orders.supplies.services import mix_add, mix_edit, price_set


class TankMixPartOut(Out):
    product = serializers.CharField(source="product.code")
    part = serializers.CharField()
    percent_vv = serializers.FloatField(allow_null=True, help_text="Of the whole mix, by volume.")
    rate_l_per_ha = serializers.FloatField(allow_null=True)


class TankMixOut(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    tank_l = serializers.FloatField()
    area_basis = serializers.CharField()
    carrier_l_per_ha = serializers.FloatField(allow_null=True)
    stem_dose_ml_per_cm = serializers.FloatField(allow_null=True)
    parts = TankMixPartOut(many=True)
    is_active = serializers.BooleanField(help_text="Whether it is offered for anything new.")


class TankMixFilter(Filters):
    code = OfWord()
    is_active = YesNo()


class TankMixes(ListEndpoint):
    endpoint = "mixes"
    row = TankMixOut
    filters = TankMixFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Mix]:
        """What goes into the tank. The label on each container governs."""
        return mixes()

    @writes(TankMixOut, body=MixIn, names_others=True, located_at="mix")
    def post(self) -> Mix:
        """Add a mix."""
        return mix_get(mix_add(stamp=self.stamp(), **parts_named(self.body)).public_id)


class TankMixOne(Endpoint):
    endpoint = "mix"

    @shows(TankMixOut)
    def get(self, mix_id: Any) -> Mix:
        """One mix."""
        return mix_get(mix_id)

    @edits(TankMixOut, body=MixReplace, names_others=True)
    def put(self, mix_id: Any) -> Mix:
        """Replace all of a mix but its code, or take it out of use; what was made with it stays as it was.

        It stays in use while a method in use is done with it."""
        row = mix_get(mix_id)
        expected = self.version_named(row)
        mix_edit(mix=row, expected=expected, stamp=self.stamp(), **parts_named(self.body))
        return mix_get(mix_id)


def parts_named(body: dict[str, Any]) -> dict[str, Any]:
    """The body with the products of its parts as rows."""
    known = products_named(part["product"] for part in body["parts"])
    unknown = [
        FieldError("parts.product", f"there is no product {part['product']}", row=number)
        for number, part in enumerate(body["parts"], start=1)
        if part["product"] not in known
    ]
    if unknown:
        raise Invalid("The mix names what is not known here.", unknown)
    return body | {"parts": [PartFacts(**part | {"product": known[part["product"]]}) for part in body["parts"]]}


class PriceOut(Row):
    kind = serializers.ChoiceField(Price.KINDS)
    code = serializers.CharField()
    unit = serializers.CharField()
    from_day = serializers.DateField()
    price_e4 = serializers.IntegerField(help_text="1/10,000 dollars a unit.")
    minimum_e4 = serializers.IntegerField(allow_null=True, help_text="The least that a contractor asks for a job.")
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class PriceFilter(Filters):
    kind = AnyOf(words=Price.KINDS)
    code = OfWord()
    day_from = OnDay(field_name="from_day", lookup_expr="gte")
    day_to = OnDay(field_name="from_day", lookup_expr="lte")


class Prices(ListEndpoint):
    endpoint = "prices"
    row = PriceOut
    filters = PriceFilter
    sorts = {"from_day": "from_day", "code": "code"}
    usual_sort = "-from_day"

    def rows(self) -> QuerySet[Price]:
        """Prices that were ever set; of each thing the newest that has begun counts."""
        return prices_listed()

    @writes(PriceOut, body=PriceIn, names_others=True)
    def post(self) -> Price:
        """Set a price from a day on. Estimates keep the prices that they were made with."""
        return price_set(stamp=self.stamp(), **self.body)
