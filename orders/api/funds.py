"""Where the money comes from, and what people are paid. The latter is finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import Filters, OfId, OfWord
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Row, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Cents, Day, Flag, Id, Text, Whole
from orders.costs.selectors import awards, fund_get, funds, pay_rates
from orders.costs.services import award_add, fund_add, pay_rate_set
from orders.crews.selectors import person_get

MOST_RATE_E4 = 10_000 * 10_000  # ten thousand dollars an hour: beyond it somebody typed cents for dollars twice


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


class PayRateOut(Row):
    person = NamedRef()
    from_day = serializers.DateField()
    rate_e4 = serializers.IntegerField(help_text="1/10,000 dollars an hour, fringe included.")


class PayRateIn(Body):
    person = Id()
    from_day = Day()
    rate_e4 = Whole(max_value=MOST_RATE_E4)


class PayRateFilter(Filters):
    person = OfId(field_name="person__public_id")


class PayRates(ListEndpoint):
    endpoint = "pay-rates"
    row = PayRateOut
    filters = PayRateFilter
    sorts = {"person": "person__name", "from_day": "from_day"}
    usual_sort = "person"

    def rows(self) -> QuerySet[Any]:
        """What people cost an hour, from which day on."""
        return pay_rates(self.actor)

    @writes(PayRateOut, body=PayRateIn, names_others=True)
    def post(self) -> Any:
        """Set what a person costs from a day on; the rates before stay."""
        return pay_rate_set(person=person_get(self.body.pop("person")), stamp=self.stamp(), **self.body)
