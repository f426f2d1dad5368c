"""What people are paid and what unpaid hours count as match. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Row
from orders.bodies.base import Body
from orders.bodies.fields import Cents, Choice, Day, Id, Text, Whole
from orders.costs.pay_selectors import comp_time_agreement_get, comp_time_agreements, match_rates, pay_rates
from orders.costs.pay_words import MATCH_KIND_WORDS
from orders.costs.services import comp_time_agree, comp_time_end, match_rate_set, pay_rate_set
from orders.crews.selectors import labor_role_by_code, person_get

MOST_RATE_E4 = 10_000 * 10_000  # ten thousand dollars an hour: beyond it somebody typed cents for dollars twice
MOST_FRINGE_E4 = 50_000
YEAR_HOURS = 8_784


class PayRateOut(Row):
    person = NamedRef()
    role = serializers.CharField(source="role.code", allow_null=True, default=None, help_text="null: in any role.")
    from_day = serializers.DateField()
    rate_e4 = serializers.IntegerField(help_text="1/10,000 dollars an hour, fringe included.")
    wage_e4 = serializers.IntegerField(allow_null=True, help_text="1/10,000 dollars an hour, as paid.")
    fringe_e4 = serializers.IntegerField(allow_null=True, help_text="1/10,000 of the wage.")
    yearly_cents = serializers.IntegerField(allow_null=True, help_text="Fixed a year, such as health cover.")
    paid_hours = serializers.IntegerField(allow_null=True, help_text="A year.")
    productive_hours = serializers.IntegerField(allow_null=True, help_text="A year, less leave and holidays.")


class PayRateIn(Body):
    person = Id()
    role = Text(max_length=50, required=False, help_text="Code of a role; left out: any.")
    from_day = Day()
    rate_e4 = Whole(max_value=MOST_RATE_E4, required=False, help_text="Left out: figured from the wage.")
    wage_e4 = Whole(max_value=MOST_RATE_E4, required=False)
    fringe_e4 = Whole(max_value=MOST_FRINGE_E4, required=False)
    yearly_cents = Cents(max_value=10**9, required=False)
    paid_hours = Whole(min_value=1, max_value=YEAR_HOURS, required=False)
    productive_hours = Whole(min_value=1, max_value=YEAR_HOURS, required=False)


class PayRateFilter(Filters):
    person = OfId(field_name="person__public_id")
    role = OfWord(field_name="role__code")


class PayRates(ListEndpoint):
    endpoint = "pay-rates"
    row = PayRateOut
    filters = PayRateFilter
    sorts = {"person": "person__name", "from_day": "from_day"}
    usual_sort = "person"

    def rows(self) -> QuerySet[Any]:
        """What people cost an hour, from which day on, and the wage that it was figured from."""
        return pay_rates(self.actor)

    @writes(PayRateOut, body=PayRateIn, names_others=True)
    def post(self) -> Any:
        """Set what a person costs from a day on, by a rate or by a wage and what comes on top; older ones stay."""
        person, code = person_get(self.body.pop("person")), self.body.pop("role", None)
        role = labor_role_by_code(code) if code else None
        return pay_rate_set(person=person, role=role, stamp=self.stamp(), **self.body)


class CompTimeOut(Row):
    person = NamedRef()
    first_day = serializers.DateField()
    last_day = serializers.DateField(allow_null=True, help_text="null: it runs on.")
    reference = serializers.CharField(help_text="Where the agreement is kept.")


class CompTimeIn(Body):
    person = Id()
    first_day = Day()
    last_day = Day(required=False, allow_null=True)
    reference = Text(max_length=200)


class CompTimeEndIn(Body):
    last_day = Day()


class CompTimeFilter(Filters):
    person = OfId(field_name="person__public_id")


class CompTimes(ListEndpoint):
    endpoint = "comp-time-agreements"
    row = CompTimeOut
    filters = CompTimeFilter
    sorts = {"person": "person__name", "first_day": "first_day"}
    usual_sort = "person"

    def rows(self) -> QuerySet[Any]:
        """Who takes time off instead of the overtime premium, and when."""
        return comp_time_agreements(self.actor)

    @writes(CompTimeOut, body=CompTimeIn, names_others=True)
    def post(self) -> Any:
        """Record an agreement that was made before the work. The pay policy must allow it."""
        return comp_time_agree(person=person_get(self.body.pop("person")), stamp=self.stamp(), **self.body)


class CompTimeEnd(Endpoint):
    endpoint = "comp-time-agreement-end"

    @writes(CompTimeOut, body=CompTimeEndIn, status=200)
    def post(self, agreement_id: Any) -> Any:
        """End an agreement that runs on."""
        agreement = comp_time_agreement_get(self.actor, agreement_id)
        return comp_time_end(agreement=agreement, stamp=self.stamp(), **self.body)


class MatchRateOut(Row):
    person_type = serializers.ChoiceField(MATCH_KIND_WORDS)
    role = serializers.CharField(source="role.code")
    from_day = serializers.DateField()
    rate_e4 = serializers.IntegerField(help_text="1/10,000 dollars an hour, without fringe.")
    fringe_e4 = serializers.IntegerField(help_text="1/10,000 of the rate.")
    source = serializers.CharField(help_text="Whose pay it is taken from.")  # type: ignore[assignment]


class MatchRateIn(Body):
    person_type = Choice(MATCH_KIND_WORDS)
    role = Text(max_length=50, help_text="Code of a role.")
    from_day = Day()
    rate_e4 = Whole(max_value=MOST_RATE_E4)
    fringe_e4 = Whole(max_value=MOST_FRINGE_E4, default=0)
    source = Text(max_length=200)  # type: ignore[assignment]


class MatchRateFilter(Filters):
    person_type = AnyOf(words=MATCH_KIND_WORDS)
    role = OfWord(field_name="role__code")


class MatchRates(ListEndpoint):
    endpoint = "match-rates"
    row = MatchRateOut
    filters = MatchRateFilter
    sorts = {"role": "role__code", "from_day": "from_day"}
    usual_sort = "role"

    def rows(self) -> QuerySet[Any]:
        """What an hour of volunteers and loaned staff counts as match, by role and day."""
        return match_rates(self.actor)

    @writes(MatchRateOut, body=MatchRateIn, names_others=True)
    def post(self) -> Any:
        """Set a rate of match from a day on; the rates before stay."""
        return match_rate_set(role=labor_role_by_code(self.body.pop("role")), stamp=self.stamp(), **self.body)
