"""Labor roles, and their standard rates by which estimates are priced. What anybody is paid is not here."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row
from orders.bodies.base import Body
from orders.bodies.fields import Day, Text, Whole
from orders.common.rows import row_mark
from orders.crews.models import LaborRole, StandardRate
from orders.crews.selectors import labor_role_by_code, labor_role_get, labor_roles, standard_rates_set
from orders.crews.services import labor_role_add, labor_role_edit, standard_rate_set

MOST_E4 = 10**8


class RoleOut(Row):
    code = serializers.CharField()
    name = serializers.CharField()


class RoleIn(Body):
    code = Text(max_length=50)
    name = Text(max_length=60)


class RoleEdit(Body):
    name = Text(max_length=60)


class LaborRoles(ListEndpoint):
    endpoint = "labor-roles"
    row = RoleOut
    sorts = {"name": "name", "code": "code"}
    usual_sort = "name"

    def rows(self) -> QuerySet[LaborRole]:
        """What people are on their crews."""
        return labor_roles()

    @writes(RoleOut, body=RoleIn, located_at="labor-role")
    def post(self) -> LaborRole:
        """Add a role."""
        return labor_role_add(stamp=self.stamp(), **self.body)


class LaborRoleOne(Endpoint):
    endpoint = "labor-role"

    @shows(RoleOut)
    def get(self, role_id: Any) -> LaborRole:
        """One role."""
        return labor_role_get(role_id)

    @edits(RoleOut, body=RoleEdit)
    def patch(self, role_id: Any) -> LaborRole:
        """Change its name. Its code stays: rate books name it."""
        row = labor_role_get(role_id)
        self.current_check(row)
        return labor_role_edit(role=row, values=self.body, read=row_mark(row), stamp=self.stamp())


class StandardRateOut(Row):
    role = serializers.CharField(source="role.code")
    from_day = serializers.DateField()
    rate_e4 = serializers.IntegerField(help_text="1/10,000 dollars an hour, all costs of the hour in it.")
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class StandardRateIn(Body):
    role = Text(max_length=50, help_text="A labor role's code.")
    from_day = Day()
    rate_e4 = Whole(max_value=MOST_E4, help_text="1/10,000 dollars an hour.")
    source = Text(max_length=200)  # type: ignore[assignment]  # the metaclass takes it off again


class StandardRateFilter(Filters):
    role = OfWord(field_name="role__code")


class StandardRates(ListEndpoint):
    endpoint = "standard-rates"
    row = StandardRateOut
    filters = StandardRateFilter
    sorts = {"from_day": "from_day"}
    usual_sort = "from_day"

    def rows(self) -> QuerySet[StandardRate]:
        """Rates by role, from their day on."""
        return standard_rates_set()

    @writes(StandardRateOut, body=StandardRateIn, names_others=True)
    def post(self) -> StandardRate:
        """Set the rate of a role from a day on; older days keep theirs."""
        return standard_rate_set(stamp=self.stamp(), **{**self.body, "role": labor_role_by_code(self.body["role"])})
