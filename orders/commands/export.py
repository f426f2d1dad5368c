"""What a tablet could not send, brought to the desk as a file. It works for one that was shut out, too."""

import base64
import binascii
from collections import Counter
from dataclasses import dataclass
from typing import Any

from rest_framework import serializers

from orders.bodies.base import Body, many
from orders.bodies.errors import errors_flat
from orders.bodies.fields import Id, Moment, Text, Whole
from orders.bodies.strict_json import json_read
from orders.commands.envelope import envelope_take
from orders.commands.queue import NO_GAP, command_take, queue_drain
from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.stamp import Stamp
from orders.field.models import Command, Device
from orders.field.selectors.devices import device_get
from orders.field.services.commands import Contact
from orders.workorders.models import Photo
from orders.workorders.photos import photo_part_add, photo_received

NAME, VERSION = "unsent work", 1
MOST_COMMANDS = 10_000
MOST_PHOTOS = 5_000


class PhotoIn(Body):
    id = Id()
    content_type = Text(max_length=60)
    sha256 = Text(max_length=64)
    base64 = Text(trim_whitespace=False)


class ExportIn(Body):
    fencerow = serializers.ChoiceField([NAME])
    version = Whole(min_value=VERSION, max_value=VERSION)
    device = Id()
    device_name = Text(max_length=80, allow_blank=True, default="")
    exported_at = Moment()
    app_version = Text(max_length=40, allow_blank=True, default="")
    commands = serializers.ListField(child=serializers.JSONField(), max_length=MOST_COMMANDS)
    photos = many(PhotoIn, most=MOST_PHOTOS, required=False)


@dataclass(frozen=True)
class Imported:
    """`known` of the commands had come before; `states` counts them all by what became of them."""

    device: Device
    commands: int
    known: int
    states: dict[str, int]
    photos: int
    photos_whole: int


def export_import(*, data: bytes, stamp: Stamp) -> Imported:
    """Each command in its own transaction, as if the tablet had called; what is not in the file is not waited for. The
    same file again changes nothing."""
    told = _read(data)
    device = device_get(told["device"])
    sent = sorted(((envelope_take(one), one) for one in told["commands"]), key=lambda pair: pair[0].seq)
    ids = {envelope.public_id for envelope, _ in sent}
    known = Command.objects.filter(public_id__in=ids).count()
    contact = Contact(device, stamp.at, from_file=True)
    for _, one in sent:
        command_take(contact=contact, sent=one)
    for _ in queue_drain(device=device, at=stamp.at, gap=NO_GAP):
        pass  # each is written as it is done
    states = Counter(Command.objects.filter(public_id__in=ids).values_list("state", flat=True))
    photos = told.get("photos", [])
    whole = sum(_photo_take(photo, stamp) for photo in photos)
    change_record(stamp=stamp, verb="export_import", entity=device, after={"commands": len(ids), "known": known})
    return Imported(device, len(ids), known, dict(states), len(photos), whole)


def _read(data: bytes) -> dict[str, Any]:
    try:
        told = json_read(data)
    except (ValueError, RecursionError) as error:
        raise Invalid("The file cannot be read.", [FieldError("file", "is not JSON")]) from error
    checked = ExportIn(data=told)
    if not checked.is_valid():
        raise Invalid("This is no file of unsent work.", errors_flat(checked.errors))
    return dict(checked.validated_data)


def _photo_take(told: dict[str, Any], stamp: Stamp) -> bool:
    """Whether the picture is whole afterwards. Its command says what it is; without one there is nothing to add to."""
    photo = Photo.objects.filter(public_id=told["id"]).first()
    if photo is None:
        return False
    try:
        content = base64.b64decode(told["base64"], validate=True)
        if photo.state != "whole":
            offset = photo_received(photo)
            photo = photo_part_add(photo=photo, offset=offset, data=content[offset:], stamp=stamp)
    except (binascii.Error, Refusal):
        return False
    return photo.state == "whole"
