"""Deadlines of every kind, the notices that tell of them, and the schedule of steps."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord, OfYear, OnDay, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import PatchRef, Row, SiteRef, SpeciesRef, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Clock, Flag, Moment, Text, Whole
from orders.reminders.models import KINDS, Deadline, Notice, ReminderStep
from orders.reminders.models.steps import HIGHEST_RUNG
from orders.reminders.selectors import deadlines_of, notice_get, notices_of, step_get, steps
from orders.reminders.services import notice_acknowledge, notice_snooze, reminder_step_edit

MOST_DAYS = 365


class OrderRef(Row):
    number = serializers.IntegerField()


class DeadlineOut(VersionedRow):
    kind = serializers.ChoiceField(KINDS)
    title = serializers.CharField()
    site = SiteRef(allow_null=True)
    patch = PatchRef(allow_null=True)
    species = SpeciesRef(allow_null=True)
    growth_form = serializers.CharField(source="growth_form.code", default=None, allow_null=True)
    prescription = serializers.UUIDField(source="prescription.public_id", default=None, allow_null=True)
    order = OrderRef(allow_null=True)
    product = serializers.CharField(source="product.code", default=None, allow_null=True)
    year = serializers.IntegerField()
    due_on = serializers.DateField()
    because = serializers.CharField()
    state = serializers.ChoiceField(Deadline.STATES)
    done_on = serializers.DateField(allow_null=True)


class DeadlineFilter(Filters):
    kind = AnyOf(words=KINDS)
    site = OfId(field_name="site__public_id")
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
    sorts = {"due_on": "due_on", "title": "title"}
    usual_sort = "due_on"

    def rows(self) -> QuerySet[Deadline]:
        """What must be done by when and why; a crew lead's are those of own crews' orders and own licenses."""
        return deadlines_of(self.actor, on=self.today)


class NoticeOut(Row):
    deadline = serializers.UUIDField(source="deadline.public_id")
    kind = serializers.ChoiceField(KINDS, source="deadline.kind")
    site = SiteRef(source="deadline.site", allow_null=True)
    patch = PatchRef(source="deadline.patch", allow_null=True)
    due_on = serializers.DateField(source="deadline.due_on")
    step = serializers.CharField(source="step.code")
    to = UserRef(source="user")
    subject = serializers.CharField()
    body = serializers.CharField()
    made_at = serializers.DateTimeField()
    handed_over_at = serializers.DateTimeField(allow_null=True)
    mail_attempts = serializers.IntegerField(
        help_text="How often the mail may have been taken: each above the first is a double after a crash."
    )
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    snoozed_until = serializers.DateTimeField(allow_null=True)


class NoticeFilter(Filters):
    deadline = OfId(field_name="deadline__public_id")
    kind = AnyOf(field_name="deadline__kind", words=KINDS)
    acknowledged = YesNo(field_name="acknowledged_at", lookup_expr="isnull", exclude=True)


class Notices(ListEndpoint):
    endpoint = "notices"
    row = NoticeOut
    from_columns = True
    filters = NoticeFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[Notice]:
        """Reminders, the newest first: one's own; coordinators see everybody's."""
        return notices_of(self.actor)


class NoticeAcknowledge(Endpoint):
    endpoint = "notice-acknowledge"

    @writes(NoticeOut, status=200)
    def post(self, notice_id: Any) -> Notice:
        """Say that one has read it. Steps that ask for it are not sent after it."""
        return notice_acknowledge(notice=notice_get(self.actor, notice_id), stamp=self.stamp())


class SnoozeIn(Body):
    until = Moment(help_text="Within two weeks; not after the due day where a rule of a state sets it.")


class NoticeSnooze(Endpoint):
    endpoint = "notice-snooze"

    @writes(NoticeOut, body=SnoozeIn, status=200)
    def post(self, notice_id: Any) -> Notice:
        """Put it off to a moment: then it is open and mailed again. The next step comes when it comes."""
        notice = notice_get(self.actor, notice_id)
        return notice_snooze(notice=notice, until=self.body["until"], stamp=self.stamp())


class StepOut(VersionedRow):
    kind = serializers.ChoiceField(KINDS)
    code = serializers.CharField()
    counts_from = serializers.ChoiceField(ReminderStep.COUNTS_FROM)
    days_before = serializers.IntegerField(help_text="Days before the due day; negative: after it.")
    local_time = Clock()
    rung = serializers.IntegerField(help_text="1 ahead of the day, 2 from the day on, 3 escalated.")
    to_coordinators = serializers.BooleanField()
    to_leads = serializers.BooleanField()
    to_supervisors = serializers.BooleanField()
    to_person = serializers.BooleanField()
    until_acknowledged = serializers.BooleanField()
    escalates = serializers.BooleanField()
    bypasses_quiet = serializers.BooleanField()
    text = serializers.CharField()
    is_active = serializers.BooleanField()


class StepRow(StepOut):
    """With where the step comes from; `source` is a name that serializers keep for themselves."""

    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class StepEdit(Body):
    """What is not named stays as it is."""

    days_before = Whole(min_value=-MOST_DAYS, max_value=MOST_DAYS, required=False)
    local_time = Clock(required=False)
    rung = Whole(min_value=1, max_value=HIGHEST_RUNG, required=False)
    to_coordinators = Flag(required=False)
    to_leads = Flag(required=False)
    to_supervisors = Flag(required=False)
    to_person = Flag(required=False)
    until_acknowledged = Flag(required=False)
    escalates = Flag(required=False)
    bypasses_quiet = Flag(required=False)
    text = Text(max_length=200, required=False)
    is_active = Flag(required=False)


class StepFilter(Filters):
    kind = AnyOf(words=KINDS)


class Steps(ListEndpoint):
    endpoint = "reminder-steps"
    row = StepRow
    filters = StepFilter
    sorts = {"kind": "kind", "days_before": "days_before"}
    usual_sort = "kind"

    def rows(self) -> QuerySet[ReminderStep]:
        """The schedule of reminders: when each step comes, whom it tells, and where it is from."""
        return steps()


class StepOne(Endpoint):
    endpoint = "reminder-step"

    @shows(StepRow)
    def get(self, step_id: Any) -> ReminderStep:
        """One step of the schedule."""
        return step_get(step_id)

    @edits(StepRow, body=StepEdit)
    def patch(self, step_id: Any) -> ReminderStep:
        """Change when a step comes, whom it tells and in which words, or switch it off."""
        step = step_get(step_id)
        return reminder_step_edit(step=step, expected=self.version_named(step), values=self.body, stamp=self.stamp())
