"""Tablets: codes to enroll them, who is on them, and shutting one out."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, YesNo
from orders.api.operations import edits, shows, takes, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, UserRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Id, Text
from orders.field.models import Device
from orders.field.selectors.devices import device_get, devices, user_by_id
from orders.field.services.devices import (
    device_rename,
    device_revoke,
    device_user_remove,
    enrollment_code_make,
)

ENROLL_PATH = "/tablet/#/enroll/"


class DeviceUserOut(Out):
    user = UserRef()
    added_at = serializers.DateTimeField()


class DeviceOut(VersionedRow):
    name = serializers.CharField()
    enrolled_at = serializers.DateTimeField()
    expires_on = serializers.DateField()
    revoked_at = serializers.DateTimeField(allow_null=True)
    revoked_by = UserRef(allow_null=True)
    revoke_reason = serializers.CharField()
    last_contact_at = serializers.DateTimeField(allow_null=True)
    app_version = serializers.CharField()
    waiting = serializers.IntegerField(source="waiting_told", help_text="Commands not yet sent, as it last said.")
    skew_seconds = serializers.IntegerField(allow_null=True, help_text="Its clock less the server's.")
    users = DeviceUserOut(many=True, source="users_now")


class DeviceFilter(Filters):
    revoked = YesNo(field_name="revoked_at", lookup_expr="isnull", exclude=True)


class Devices(ListEndpoint):
    endpoint = "devices"
    row = DeviceOut
    filters = DeviceFilter
    sorts = {"name": "name", "last_contact_at": "last_contact_at"}
    usual_sort = "name"

    def rows(self) -> QuerySet[Device]:
        """Tablets, with who is on each and when it last called."""
        return devices()


class DeviceEdit(Body):
    name = Text(max_length=80)


class DeviceOne(Endpoint):
    endpoint = "device"

    @shows(DeviceOut)
    def get(self, device_id: Any) -> Device:
        """One tablet."""
        return device_get(device_id)

    @edits(DeviceOut, body=DeviceEdit)
    def patch(self, device_id: Any) -> Device:
        """Give a tablet another name."""
        device = device_get(device_id)
        expected = self.version_named(device)
        return device_rename(device=device, name=self.body["name"], expected=expected, stamp=self.stamp())


class DeviceRevoke(Endpoint):
    endpoint = "device-revoke"

    @writes(DeviceOut, body=Because, status=200)
    def post(self, device_id: Any) -> Device:
        """Shut a tablet out from its next contact on. What it has not sent can be brought in as a file."""
        return device_revoke(device=device_get(device_id), stamp=self.stamp(self.body["reason"]))


class DeviceUserRemove(Endpoint):
    endpoint = "device-user-remove"

    @writes(DeviceOut, status=200, names_others=True)
    def post(self, device_id: Any, user_id: Any) -> Device:
        """Take a person off a tablet."""
        device_user_remove(device=device_get(device_id), user=user_by_id(user_id), stamp=self.stamp())
        return device_get(device_id)


class CodeIn(Body):
    user = Id()


class CodeOut(Row):
    code = serializers.CharField(help_text="Shown once. Spaces, hyphens and case do not count.")
    address = serializers.CharField(help_text="What a picture code of it says.")
    user = UserRef()
    expires_at = serializers.DateTimeField()


class EnrollmentCodes(Endpoint):
    endpoint = "enrollment-codes"

    @takes(CodeOut, body=CodeIn, status=201, names_others=True)
    def post(self) -> dict[str, Any]:
        """Make a code for a person, for one use within a day: it makes a tablet known, or adds the person to one."""
        made, text = enrollment_code_make(user=user_by_id(self.body["user"]), stamp=self.stamp())
        address = self.request.build_absolute_uri(f"{ENROLL_PATH}{text}")
        shown = {name: getattr(made, name) for name in ("public_id", "user", "expires_at")}
        return {**shown, "code": text, "address": address}
