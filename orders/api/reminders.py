"""Deadlines of patches, and the notices that tell of them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord, OfYear, OnDay, YesNo
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import PatchRef, Row, SpeciesRef, UserRef, VersionedRow
from orders.reminders.models import Deadline, Notice
from orders.reminders.selectors import deadlines_of, notice_get, notices_of
from orders.reminders.services import notice_acknowledge


class DeadlineOut(VersionedRow):
    kind = serializers.ChoiceField(Deadline.KINDS)
    patch = PatchRef()
    species = SpeciesRef()
    growth_form = serializers.CharField(source="growth_form.code")
    year = serializers.IntegerField()
    due_on = serializers.DateField()
    because = serializers.CharField()
    state = serializers.ChoiceField(Deadline.STATES)
    done_on = serializers.DateField(allow_null=True)


class DeadlineFilter(Filters):
    site = OfId(field_name="patch__site__public_id")
    patch = OfId(field_name="patch__public_id")
    species = OfWord(field_name="species__code")
    state = AnyOf(words=Deadline.STATES)
    year = OfYear()
    due_from = OnDay(field_name="due_on", lookup_expr="gte")
    due_to = OnDay(field_name="due_on", lookup_expr="lte")


class Deadlines(ListEndpoint):
    endpoint = "deadlines"
    row = DeadlineOut
    from_columns = True
    filters = DeadlineFilter
    sorts = {"due_on": "due_on", "patch": "patch__code"}
    usual_sort = "due_on"

    def rows(self) -> QuerySet[Deadline]:
        """What must be cut by when, with or without an order; a crew lead's are those on own crews' orders."""
        return deadlines_of(self.actor, on=self.today).defer("patch__site__boundary", "survey__geometry")


class NoticeOut(Row):
    deadline = serializers.UUIDField(source="deadline.public_id")
    patch = PatchRef(source="deadline.patch")
    due_on = serializers.DateField(source="deadline.due_on")
    step = serializers.CharField(source="step.code")
    to = UserRef(source="user")
    subject = serializers.CharField()
    body = serializers.CharField()
    made_at = serializers.DateTimeField()
    handed_over_at = serializers.DateTimeField(allow_null=True)
    acknowledged_at = serializers.DateTimeField(allow_null=True)


class NoticeFilter(Filters):
    deadline = OfId(field_name="deadline__public_id")
    acknowledged = YesNo(field_name="acknowledged_at", lookup_expr="isnull", exclude=True)


class Notices(ListEndpoint):
    endpoint = "notices"
    row = NoticeOut
    from_columns = True
    filters = NoticeFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[Notice]:
        """Reminders, the newest first: one's own; coordinators see everybody's."""
        return notices_of(self.actor).defer("deadline__patch__site__boundary", "deadline__survey__geometry")


class NoticeAcknowledge(Endpoint):
    endpoint = "notice-acknowledge"

    @writes(NoticeOut, status=200)
    def post(self, notice_id: Any) -> Notice:
        """Say that one has read it. It stops nothing but itself."""
        return notice_acknowledge(notice=notice_get(self.actor, notice_id), stamp=self.stamp())
