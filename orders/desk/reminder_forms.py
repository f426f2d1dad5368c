"""What may be asked of the pages of reminders, and what is sent to them."""

from collections.abc import Iterable
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings
from django.db.models import Q, QuerySet

from orders.common.models import User
from orders.desk.forms import asked
from orders.reminders.models import KINDS, OWED, Deadline, Notice, ReminderPreference, ReminderStep
from orders.reminders.selectors import deadlines_of, notices_of, notices_open
from orders.sites.models import Site

if TYPE_CHECKING:
    OfPreference = forms.ModelForm[ReminderPreference]
    OfStep = forms.ModelForm[ReminderStep]
else:  # these take no parameters when they run
    OfPreference = OfStep = forms.ModelForm

MORNING = time(8)
SNOOZE_DAYS = [(1, "Until tomorrow"), (3, "For three days"), (7, "For a week"), (14, "For two weeks")]
LABEL_CHARACTERS = 200


class NoticeListForm(forms.Form):
    """One's own notices, narrowed."""

    STATES = [("open", "Open"), ("snoozed", "Put off"), ("acknowledged", "Acknowledged"), ("all", "All")]
    state = forms.ChoiceField(choices=STATES, required=False, label="State")
    kind = forms.ChoiceField(choices=[("", "All kinds"), *KINDS], required=False, label="Kind")
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Search")

    def rows(self, actor: User, at: datetime) -> QuerySet[Notice]:
        told = asked(self)
        rows = notices_of(actor).filter(user=actor)
        state = told["state"] or "open"
        if state == "open":
            rows = notices_open(rows, at=at)
        elif state == "snoozed":
            rows = rows.filter(snoozed_until__gt=at, acknowledged_at__isnull=True)
        elif state == "acknowledged":
            rows = rows.filter(acknowledged_at__isnull=False)
        if told["kind"]:
            rows = rows.filter(deadline__kind=told["kind"])
        if told["q"]:
            rows = rows.filter(Q(subject__icontains=told["q"]) | Q(deadline__because__icontains=told["q"]))
        return rows


class DeadlineListForm(forms.Form):
    """Deadlines in the actor's scope, narrowed."""

    state = forms.ChoiceField(
        choices=[("owed", "Still owed"), *Deadline.STATES, ("all", "All states")], required=False, label="State"
    )
    kind = forms.ChoiceField(choices=[("", "All kinds"), *KINDS], required=False, label="Kind")
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Search")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sites: Iterable[tuple[str, str]] = Site.objects.order_by("name").values_list("code", "name")
        self.fields["site"] = forms.ChoiceField(choices=[("", "All sites"), *sites], required=False, label="Site")

    def rows(self, actor: User, at: datetime) -> QuerySet[Deadline]:
        told = asked(self)
        rows = deadlines_of(actor, on=at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)).date())
        state = told["state"] or "owed"
        if state == "owed":
            rows = rows.filter(state__in=OWED, done_on__isnull=True)
        elif state != "all":
            rows = rows.filter(state=state)
        if told["kind"]:
            rows = rows.filter(kind=told["kind"])
        if told["site"]:
            rows = rows.filter(site__code=told["site"])
        if told["q"]:
            rows = rows.filter(Q(title__icontains=told["q"]) | Q(because__icontains=told["q"]))
        return rows


class SnoozeForm(forms.Form):
    days = forms.TypedChoiceField(choices=SNOOZE_DAYS, coerce=int)

    def until(self, preference: ReminderPreference, at: datetime) -> datetime:
        """The morning so many days on, by the reader's own clock or else the program's."""
        zone = ZoneInfo(preference.time_zone or settings.PROGRAM_TIME_ZONE)
        day = at.astimezone(zone).date() + timedelta(days=asked(self)["days"])
        return datetime.combine(day, MORNING, tzinfo=zone)


def _clock(label: str) -> forms.TimeField:
    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    return forms.TimeField(required=False, widget=widget, label=label)


class PreferenceForm(OfPreference):
    """The write checks the whole row and names what is wrong; the form reads it."""

    time_zone = forms.CharField(required=False, max_length=60, label="Time zone")
    quiet_from = _clock("Quiet from")
    quiet_until = _clock("Quiet until")
    digest_above = forms.IntegerField(min_value=0, max_value=1_000, label="One mail for more than")

    class Meta:
        model = ReminderPreference
        fields = ["time_zone", "quiet_from", "quiet_until", "digest_above"]

    def validate_unique(self) -> None:
        """Left to the write."""

    def validate_constraints(self) -> None:
        """Left to the write."""


class StepForm(OfStep):
    """The write checks the whole row and names what is wrong; the form reads it."""

    days_before = forms.IntegerField(min_value=-365, max_value=365, label="Days before the due day")
    local_time = forms.TimeField(widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"), label="At")

    class Meta:
        model = ReminderStep
        labels = {
            "text": "In these words",
            "to_coordinators": "Tells coordinators",
            "to_leads": "Tells leads of crews with an issued order there",
            "to_supervisors": "Tells pesticide supervisors",
            "to_person": "Tells the person whose license or training it is",
            "until_acknowledged": "Stops for who acknowledged an earlier step of the same rung",
            "escalates": "Stops for all where somebody acknowledged a step of the rung below",
            "is_active": "This step is sent",
        }
        help_texts = dict.fromkeys(labels, "")
        fields = ["days_before", "local_time", *labels]

    @property
    def when(self) -> list[forms.BoundField]:
        return [self[name] for name in ("days_before", "local_time")]

    @property
    def what(self) -> list[forms.BoundField]:
        return [self[name] for name in self.Meta.labels]

    def validate_unique(self) -> None:
        """Left to the write."""

    def validate_constraints(self) -> None:
        """Left to the write."""
