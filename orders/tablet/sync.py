"""What a tablet sends: its enrollment, and its commands in batches."""

import time
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import OperationalError
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from orders.api.base import Endpoint
from orders.api.operations import takes
from orders.api.parsers import PayloadTooLarge, StrictJSONParser
from orders.api.problems import WAIT
from orders.api.shapes import Out, Row
from orders.api.throttles import LoginThrottle, TabletThrottle
from orders.bodies.base import Body
from orders.bodies.fields import Id, Moment, Text, Whole
from orders.commands.queue import Batch, batch_take
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.stamp import Stamp
from orders.field.models import Device
from orders.field.services.commands import Contact
from orders.field.services.devices import Enrolled, device_contact, device_enroll
from orders.tablet.authentication import WORD, TabletAuthentication, TabletIfKnown

BUSY_SECONDS = 5


class Busy(Refusal):
    """The database is busy or away. What had an answer is done; the rest is sent again."""

    code = "busy"
    title = "Try again soon"
    status = 503


class TabletParser(StrictJSONParser):
    most_bytes = settings.TABLET_BATCH_MAX_BYTES


class TabletEndpoint(Endpoint):
    """For tablets alone: no session and no user's token opens it."""

    authentication_classes = (TabletAuthentication,)
    throttle_classes: Any = (TabletThrottle,)

    @property
    def device(self) -> Device:
        device = self.request.auth
        assert isinstance(device, Device)  # the permission table lets nobody else through
        return device

    def get_authenticate_header(self, request: Request) -> str:
        return WORD

    def handle_exception(self, error: Exception) -> Response:
        if isinstance(error, OperationalError):
            error = Busy("The server is busy. Try again in a few seconds.", data={WAIT: BUSY_SECONDS})
        return super().handle_exception(error)


class EnrollIn(Body):
    code = Text(max_length=40)
    device = Id(required=False, allow_null=True, help_text="What the tablet was before, if it was enrolled before.")
    device_name = Text(max_length=80)
    app_version = Text(max_length=40, allow_blank=True, default="")


class TabletOut(Row):
    name = serializers.CharField()
    expires_on = serializers.DateField()


class TabletUserOut(Row):
    name = serializers.SerializerMethodField()
    language = serializers.SerializerMethodField()

    def get_name(self, user: Any) -> str:
        return str(user.get_full_name() or user.username)

    def get_language(self, user: Any) -> str:
        return ""  # the tablet's own, until the person chooses


class EnrolledOut(Out):
    token = serializers.CharField(allow_null=True, help_text="For a new tablet; shown once.")
    device = TabletOut()
    user = TabletUserOut()


class Enroll(TabletEndpoint):
    endpoint = "tablet-enroll"
    authentication_classes = (TabletIfKnown,)
    throttle_classes = (LoginThrottle,)

    @takes(EnrolledOut, body=EnrollIn, status=201, more_statuses=(410,), conflicts=True)
    def post(self) -> Enrolled:
        """Use a code from the desk: it makes a tablet known, or adds a person to one that is."""
        known = self.request.auth if isinstance(self.request.auth, Device) else None
        return device_enroll(
            code=self.body["code"],
            name=self.body["device_name"],
            device=known,
            was=self.body.get("device"),
            app_version=self.body["app_version"],
            stamp=Stamp(by=None, at=now()),
        )


class SentCommands(serializers.ListField):
    """Each is read by itself, so that one that cannot be read stops none of the others."""

    child = serializers.JSONField()

    def to_internal_value(self, data: Any) -> list[Any]:
        if not isinstance(data, list):
            raise serializers.ValidationError("must be a list")
        if len(data) > settings.TABLET_BATCH_MAX_COMMANDS:
            raise PayloadTooLarge(f"At most {settings.TABLET_BATCH_MAX_COMMANDS} commands are taken at once.")
        return data


class BatchIn(Body):
    sent_at = Moment(help_text="By the tablet's clock.")
    app_version = Text(max_length=40, allow_blank=True, default="")
    waiting = Whole(default=0, help_text="Commands that are left on the tablet after this batch.")
    commands = SentCommands()


class CommandErrorOut(Out):
    field = serializers.CharField()
    code = serializers.CharField()
    message = serializers.CharField()
    row = serializers.IntegerField(required=False)


class CommandAnswerOut(Out):
    id = serializers.CharField()
    seq = serializers.IntegerField()
    state = serializers.ChoiceField(["applied", "held", "waiting", "unreadable"])
    code = serializers.CharField()
    message = serializers.CharField()
    errors = serializers.ListField(child=CommandErrorOut())  # type: ignore[assignment]  # the metaclass takes it off again
    flags = serializers.ListField(child=serializers.CharField(), help_text="Titles of what a person must look at.")


class StandingOut(Out):
    revoked = serializers.BooleanField()


class BatchOut(Out):
    server_time = serializers.DateTimeField()
    skew_seconds = serializers.IntegerField(help_text="The tablet's clock less the server's.")
    answers = CommandAnswerOut(many=True, help_text="A command without an answer here is sent again.")
    later = CommandAnswerOut(many=True, help_text="Of earlier batches: what had to wait and is decided now.")
    device = StandingOut()


@dataclass(frozen=True)
class Answered:
    server_time: datetime
    skew_seconds: int
    batch: Batch

    @property
    def answers(self) -> list[dict[str, Any]]:
        return self.batch.answers

    @property
    def later(self) -> list[dict[str, Any]]:
        return self.batch.later

    @property
    def device(self) -> dict[str, bool]:
        return {"revoked": False}


class Commands(TabletEndpoint):
    endpoint = "tablet-commands"
    parser_classes = (TabletParser,)

    @takes(BatchOut, body=BatchIn, status=200, more_statuses=(503,))
    def post(self) -> Answered:
        """Send commands, at most 50 and one megabyte at once. What is sent again gets the answer that it got."""
        until = time.monotonic() + settings.TABLET_BATCH_SECONDS
        at = now()
        skew = int((self.body["sent_at"] - at).total_seconds())
        contact = Contact(self.device, at, skew)
        device_contact(contact=contact, app_version=self.body["app_version"], waiting=self.body["waiting"])
        batch = batch_take(contact=contact, commands=self.body["commands"], is_late=lambda: time.monotonic() > until)
        return Answered(now(), skew, batch)
