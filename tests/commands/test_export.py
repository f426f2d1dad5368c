"""What a tablet could not send, brought to the desk as a file."""

import base64
import hashlib
import json
from io import BytesIO
from uuid import uuid4

import pytest
from PIL import Image

from orders.commands.export import export_import
from orders.commands.queue import command_take
from orders.common.errors import Invalid, NotFound
from orders.field.models import Command, Device
from orders.workorders.models import Photo
from tests import build

pytestmark = pytest.mark.django_db


def _file(device, commands, **more):
    told = {"fencerow": "unsent work", "version": 1, "device": str(device.public_id), "device_name": "Blue"}
    told |= {"exported_at": "2027-02-01T22:00:00Z", "app_version": "1", "commands": commands, "photos": []}
    return json.dumps({**told, **more}).encode()


def _words(sender, *words):
    return [sender.envelope("word", {"word": word}) for word in words]


def test_it_brings_in_what_was_not_sent(sender, stamp, words):
    sent = _words(sender, "one", "no", "two")
    imported = export_import(data=_file(sender.device, list(reversed(sent))), stamp=stamp)
    assert words() == ["one", "two"]
    assert (imported.commands, imported.known, imported.states) == (3, 0, {"applied": 2, "held": 1})
    assert Command.objects.filter(from_file=True).count() == 3


def test_it_changes_nothing_the_second_time(sender, stamp, words):
    data = _file(sender.device, _words(sender, "one", "two"))
    export_import(data=data, stamp=stamp)
    again = export_import(data=data, stamp=stamp)
    assert (again.commands, again.known, again.states) == (2, 2, {"applied": 2})
    assert words() == ["one", "two"]


def test_it_works_for_a_tablet_that_was_shut_out(sender, stamp, words):
    Device.objects.update(revoked_at=stamp.at)
    assert export_import(data=_file(sender.device, _words(sender, "one")), stamp=stamp).states == {"applied": 1}


def test_it_waits_for_nothing_that_is_not_in_the_file(sender, stamp, words):
    _, second, third = _words(sender, "one", "two", "three")
    assert export_import(data=_file(sender.device, [second, third]), stamp=stamp).states == {"applied": 2}
    assert words() == ["two", "three"]


def test_it_gives_the_tablet_the_answer_of_the_file(sender, contact, stamp, words):
    (sent,) = _words(sender, "one")
    export_import(data=_file(sender.device, [sent]), stamp=stamp)
    assert command_take(contact=contact, sent=sent)["state"] == "applied"
    assert words() == ["one"]


def test_it_brings_photos_too(sender, stamp, settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    picture = BytesIO()
    Image.new("RGB", (8, 8), "green").save(picture, "PNG")
    content = picture.getvalue()
    photo = build.PhotoFactory(
        sha256=hashlib.sha256(content).hexdigest(), size_bytes=len(content), content_type="image/png"
    )
    row = {"content_type": "image/png", "sha256": photo.sha256, "base64": base64.b64encode(content).decode()}
    rows = [{"id": str(photo.public_id), **row}, {"id": str(uuid4()), **row}]
    imported = export_import(data=_file(sender.device, [], photos=rows), stamp=stamp)
    assert (imported.photos, imported.photos_whole) == (2, 1)
    assert Photo.objects.get().state == "whole"
    assert export_import(data=_file(sender.device, [], photos=rows), stamp=stamp).photos_whole == 1


@pytest.mark.parametrize("data", [b"", b"[]", b"{", b"\xff", b'{"fencerow": "other"}', b'{"a": NaN}', b"[" * 100_000])
def test_it_refuses_what_is_no_such_file(data, stamp):
    with pytest.raises(Invalid):
        export_import(data=data, stamp=stamp)


def test_it_knows_the_tablet_or_takes_nothing(sender, stamp):
    stranger = build.DeviceFactory.build(public_id=uuid4())
    with pytest.raises(NotFound):
        export_import(data=_file(stranger, _words(sender, "one")), stamp=stamp)
    assert Command.objects.count() == 0
