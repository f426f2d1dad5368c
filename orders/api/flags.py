"""Flags: what a person must look at, and what came of it."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, SiteRef, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Text
from orders.commands.comparing import Sides, close_outs_compared
from orders.commands.settling import RESOLUTIONS, resolutions_open, settle_flag
from orders.common.errors import NotFound
from orders.field.models import Flag
from orders.field.selectors.flags import flag_get, flags_of


class FlaggedOrder(Row):
    number = serializers.IntegerField()


class FlagRow(VersionedRow):
    kind = serializers.CharField()
    severity = serializers.ChoiceField(Flag.SEVERITIES)
    title = serializers.CharField()
    detail = serializers.CharField()
    data = serializers.DictField()  # type: ignore[assignment]  # the metaclass takes it off again
    order = FlaggedOrder(allow_null=True)
    site = SiteRef(allow_null=True)
    crew = NamedRef(allow_null=True)
    person = NamedRef(allow_null=True)
    command = serializers.UUIDField(source="command.public_id", default=None, allow_null=True)
    raised_at = serializers.DateTimeField()
    state = serializers.ChoiceField(Flag.STATES)
    settled_at = serializers.DateTimeField(allow_null=True)
    settled_by = UserRef(allow_null=True)
    resolution = serializers.CharField()
    note = serializers.CharField()


class FlagOut(FlagRow):
    resolutions = serializers.SerializerMethodField()

    def get_resolutions(self, flag: Any) -> list[str]:
        return [code for code, _ in resolutions_open(flag)]


class FlagFilter(Filters):
    state = AnyOf(words=Flag.STATES)
    severity = AnyOf(words=Flag.SEVERITIES)
    kind = OfWord(field_name="kind")
    order = OfId(field_name="order__public_id")
    site = OfId(field_name="site__public_id")
    crew = OfId(field_name="crew__public_id")
    command = OfId(field_name="command__public_id")


class Flags(ListEndpoint):
    endpoint = "flags"
    row = FlagRow
    filters = FlagFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[Flag]:
        """What a person must look at: all for the desk, else those of one's role, crew and own commands."""
        return flags_of(self.actor, on=self.today)


class FlagOne(Endpoint):
    endpoint = "flag"

    @shows(FlagOut)
    def get(self, flag_id: Any) -> Flag:
        """One flag, with what may come of it."""
        return flag_get(self.actor, flag_id, on=self.today)


class SettleIn(Body):
    resolution = Choice(RESOLUTIONS)
    note = Text(max_length=300)


class FlagSettle(Endpoint):
    endpoint = "flag-settle"

    @writes(FlagOut, body=SettleIn, status=200)
    def post(self, flag_id: Any) -> Flag:
        """Say what came of it. A command that was held is applied, taken instead of what stands, or put aside."""
        return settle_flag(flag=flag_get(self.actor, flag_id, on=self.today), **self.body, stamp=self.stamp())


class SideLineOut(Out):
    group = serializers.CharField()
    name = serializers.CharField()
    standing = serializers.CharField(allow_null=True)
    held = serializers.CharField(allow_null=True)
    differs = serializers.BooleanField()


class SidesOut(Out):
    standing = serializers.UUIDField(source="standing.public_id")
    standing_by = serializers.CharField(source="standing.by.username")
    held = serializers.UUIDField(source="command.public_id")
    lines = SideLineOut(many=True)


class FlagSides(Endpoint):
    endpoint = "flag-sides"

    @shows(SidesOut)
    def get(self, flag_id: Any) -> Sides:
        """A close-out that is held beside the one that stands, line by line."""
        flag = flag_get(self.actor, flag_id, on=self.today)
        sides = close_outs_compared(flag.command) if flag.command else None
        if sides is None:
            raise NotFound("There are no two close-outs to compare.")
        return sides
