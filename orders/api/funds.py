"""Where the money comes from."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import Filters, OfId, OfWord
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Cents, Day, Flag, Id, Text
from orders.costs.selectors import awards, fund_get, funds
from orders.costs.services import award_add, fund_add


class FundOut(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    budget_cents = serializers.IntegerField(allow_null=True)
    is_suspense = serializers.BooleanField()


class FundIn(Body):
    code = Text(max_length=20)
    name = Text(max_length=120)
    budget_cents = Cents(required=False, allow_null=True)
    is_suspense = Flag(default=False)


class Funds(ListEndpoint):
    endpoint = "funds"
    row = FundOut
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Any]:
        """Funds that pay for orders."""
        return funds().prefetch_related(None)

    @writes(FundOut, body=FundIn)
    def post(self) -> Any:
        """Add a fund."""
        return fund_add(stamp=self.stamp(), **self.body)


class FundRef(Row):
    code = serializers.CharField()


class AwardOut(VersionedRow):
    fund = FundRef()
    code = serializers.CharField()
    name = serializers.CharField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    ceiling_cents = serializers.IntegerField()


class AwardIn(Body):
    fund = Id()
    code = Text(max_length=30)
    name = Text(max_length=120)
    first_day = Day()
    last_day = Day()
    ceiling_cents = Cents()


class AwardFilter(Filters):
    fund = OfId(field_name="fund__public_id")
    code = OfWord()


class Awards(ListEndpoint):
    endpoint = "awards"
    row = AwardOut
    filters = AwardFilter
    sorts = {"code": "code", "last_day": "last_day"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Any]:
        """Grants, each paid through a fund, with their period of performance."""
        return awards()

    @writes(AwardOut, body=AwardIn, names_others=True)
    def post(self) -> Any:
        """Add an award to a fund."""
        return award_add(fund=fund_get(self.body.pop("fund")), stamp=self.stamp(), **self.body)
