"""A person's own choices: quiet hours, digest, and the calendar that other programs subscribe to."""

from typing import Any

from django.urls import reverse
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import edits, shows, takes, writes
from orders.api.shapes import Out
from orders.bodies.base import Body, Nothing
from orders.bodies.fields import Clock, Text, Whole
from orders.reminders.models import ReminderPreference
from orders.reminders.selectors import feed_of, reminder_preference
from orders.reminders.services import calendar_feed_make, calendar_feed_revoke, reminder_preference_edit

MOST_DIGEST = 1_000


class PreferenceOut(Out):
    version = serializers.IntegerField()
    time_zone = serializers.CharField(help_text="Of one's own clock; empty: the site's.")
    quiet_from = Clock(allow_null=True, help_text="Null: as the program has it.")
    quiet_until = Clock(allow_null=True)
    digest_above = serializers.IntegerField(help_text="More notices than this at once come in one mail.")


class PreferenceEdit(Body):
    time_zone = Text(max_length=60, allow_blank=True, required=False)
    quiet_from = Clock(required=False, allow_null=True)
    quiet_until = Clock(required=False, allow_null=True)
    digest_above = Whole(max_value=MOST_DIGEST, required=False)


class Preference(Endpoint):
    endpoint = "reminder-preference"

    @shows(PreferenceOut)
    def get(self) -> ReminderPreference:
        """How one is told; what was never chosen is as the program has it."""
        return reminder_preference(self.actor)

    @edits(PreferenceOut, body=PreferenceEdit)
    def patch(self) -> ReminderPreference:
        """Choose one's own clock, quiet hours and digest."""
        expected = self.version_named(reminder_preference(self.actor))
        return reminder_preference_edit(user=self.actor, expected=expected, values=self.body, stamp=self.stamp())


class CalendarFeedOut(Out):
    made_at = serializers.DateTimeField(allow_null=True)


class CalendarFeedMadeOut(Out):
    address = serializers.CharField(help_text="Shown once. Whoever has it reads the calendar without a login.")


class CalendarFeedGoneOut(Out):
    was_open = serializers.BooleanField()


class CalendarFeedOne(Endpoint):
    endpoint = "calendar-feed"

    @shows(CalendarFeedOut)
    def get(self) -> Any:
        """When the open address of one's calendar was made; null where none is open."""
        feed = feed_of(self.actor)
        return {"made_at": feed.made_at if feed else None}

    @takes(CalendarFeedMadeOut, body=Nothing, status=201)
    def post(self) -> dict[str, str]:
        """Make a new secret address; the one before closes. The reply is not remembered, since it holds the secret."""
        secret = calendar_feed_make(user=self.actor, stamp=self.stamp())
        return {"address": self.request.build_absolute_uri(reverse("calendar-text", args=[secret]))}


class CalendarFeedRevoke(Endpoint):
    endpoint = "calendar-feed-revoke"

    @writes(CalendarFeedGoneOut, status=200)
    def post(self) -> dict[str, bool]:
        """Close the address of one's calendar."""
        return {"was_open": calendar_feed_revoke(user=self.actor, stamp=self.stamp())}
