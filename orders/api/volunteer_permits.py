"""Permits of trained volunteers: products, land, and until when."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OfWord, OnDay
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, SiteRef, VersionedRow
from orders.bodies.records import PermitEdit, PermitIn
from orders.common.errors import FieldError, Invalid
from orders.crews.selectors import person_get
from orders.sites.selectors import sites_named
from orders.supplies.models import Product, VolunteerPermit
from orders.supplies.permits import permit_add, permit_edit, permit_get, permits


class PermitProductRef(NamedRef):
    code = serializers.CharField()


class PermitOut(VersionedRow):
    person = NamedRef()
    products = PermitProductRef(many=True)
    sites = SiteRef(many=True)
    certificate = serializers.CharField()
    trained_by = serializers.CharField()
    trained_on = serializers.DateField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class PermitFilter(Filters):
    person = OfId(field_name="person__public_id")
    site = OfId(field_name="sites__public_id")
    product = OfWord(field_name="products__code")
    on = OnDay(method="on_day")

    def on_day(self, rows: Any, name: str, day: Any) -> Any:
        return rows.filter(first_day__lte=day, last_day__gte=day)


class VolunteerPermits(ListEndpoint):
    endpoint = "volunteer-permits"
    row = PermitOut
    filters = PermitFilter
    sorts = {"last_day": "last_day"}
    usual_sort = "-last_day"

    def rows(self) -> QuerySet[VolunteerPermit]:
        """Who was trained for which products on which land. A permit lets nobody mix."""
        return permits()

    @writes(PermitOut, body=PermitIn, names_others=True, located_at="volunteer-permit")
    def post(self) -> VolunteerPermit:
        """Add a permit; whether volunteers may apply there at all is for the rules on records."""
        told = dict(self.body)
        person, sites = person_get(told.pop("person")), sites_named(told.pop("sites"))
        return permit_add(
            person=person, products=_products(told.pop("products")), sites=sites, stamp=self.stamp(), **told
        )


def _products(codes: list[str]) -> list[Product]:
    found = {product.code: product for product in Product.objects.filter(code__in=codes)}
    unknown = [FieldError("products", f"{code} is not known here") for code in codes if code not in found]
    if unknown:
        raise Invalid("The permit names what is not known here.", unknown)
    return list(found.values())


class VolunteerPermitOne(Endpoint):
    endpoint = "volunteer-permit"

    @shows(PermitOut)
    def get(self, permit_id: Any) -> VolunteerPermit:
        """One permit."""
        return permit_get(permit_id)

    @edits(PermitOut, body=PermitEdit)
    def patch(self, permit_id: Any) -> VolunteerPermit:
        """Change its last day or the number of its certificate."""
        permit = permit_get(permit_id)
        expected = self.version_named(permit)
        permit_edit(permit=permit, values=self.body, expected=expected, stamp=self.stamp())
        return permit_get(permit_id)
