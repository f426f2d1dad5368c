"""A picture's bytes in parts: whole once, or begun anew."""

import hashlib
import io

import pytest
from PIL import Image

from orders.common.errors import Invalid
from orders.workorders.models import Photo
from orders.workorders.photos import (
    PartTooLong,
    WrongOffset,
    photo_announce,
    photo_part_add,
    photo_path,
    photo_received,
)
from tests import build

pytestmark = pytest.mark.django_db


def picture(side=40):
    out = io.BytesIO()
    Image.effect_noise((side, side), 90).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path / "media" / "photos"


def announced(data, stamp, **more):
    facts = {"sha256": hashlib.sha256(data).hexdigest(), "size_bytes": len(data), "content_type": "image/jpeg"}
    photo = build.PhotoFactory.build(order=None, by=None, **{**facts, **more})
    return photo_announce(photo=photo, stamp=stamp)


def test_it_puts_parts_together(stamp):
    data = picture()
    photo = announced(data, stamp)
    first = photo_part_add(photo=photo, offset=0, data=data[:300], stamp=stamp)
    assert (first.received_bytes, first.state) == (300, "waiting")
    whole = photo_part_add(photo=photo, offset=300, data=data[300:], stamp=stamp)
    assert (whole.state, whole.whole_at, photo_path(whole).read_bytes()) == ("whole", stamp.at, data)


def test_it_refuses_a_part_that_does_not_follow(stamp):
    data = picture()
    photo = announced(data, stamp)
    photo_part_add(photo=photo, offset=0, data=data[:300], stamp=stamp)
    with pytest.raises(WrongOffset) as refused:
        photo_part_add(photo=photo, offset=200, data=data[200:], stamp=stamp)
    assert refused.value.data == {"offset": 300}


def test_it_refuses_more_than_was_announced(stamp):
    data = picture()
    with pytest.raises(PartTooLong):
        photo_part_add(photo=announced(data, stamp), offset=0, data=data + b"x", stamp=stamp)


def test_it_goes_on_where_the_file_ends_after_a_write_that_broke_off(stamp):
    """The file was written and the row was not: the bytes come again and go to the same place."""
    data = picture()
    photo = announced(data, stamp)
    photo_part_add(photo=photo, offset=0, data=data[:300], stamp=stamp)
    with photo_path(photo).open("ab") as file:
        file.write(b"half of a part")
    whole = photo_part_add(photo=photo, offset=300, data=data[300:], stamp=stamp)
    assert photo_path(whole).read_bytes() == data


def test_it_asks_again_for_bytes_that_the_file_has_lost(stamp):
    data = picture()
    photo = photo_part_add(photo=announced(data, stamp), offset=0, data=data[:300], stamp=stamp)
    photo_path(photo).write_bytes(data[:100])
    assert photo_received(photo) == 100


def test_it_completes_a_whole_picture_whose_file_is_of_an_older_backup(stamp):
    data = picture()
    photo = photo_part_add(photo=announced(data, stamp), offset=0, data=data, stamp=stamp)
    photo_path(photo).write_bytes(data[:100])
    again = photo_part_add(photo=photo, offset=100, data=data[100:], stamp=stamp)
    assert (again.state, photo_path(again).read_bytes()) == ("whole", data)
    with pytest.raises(WrongOffset):
        photo_part_add(photo=photo, offset=len(data), data=b"x", stamp=stamp)


def test_it_begins_anew_where_the_checksum_is_wrong(stamp):
    data = picture()
    photo = announced(data, stamp)
    broken = photo_part_add(photo=photo, offset=0, data=data[:-1] + b"?", stamp=stamp)
    assert (broken.state, broken.received_bytes) == ("broken", 0)
    assert photo_part_add(photo=photo, offset=0, data=data, stamp=stamp).state == "whole"


def test_it_keeps_what_is_no_picture_for_a_person_to_look_at(stamp):
    data = b"not a picture at all"
    kept = photo_part_add(photo=announced(data, stamp), offset=0, data=data, stamp=stamp)
    assert (kept.state, kept.received_bytes) == ("broken", len(data))
    assert photo_path(kept).read_bytes() == data


def test_it_announces_once_and_nothing_too_large(stamp, settings):
    data = picture()
    photo = announced(data, stamp)
    assert announced(data, stamp, public_id=photo.public_id).pk == photo.pk
    settings.PHOTO_MAX_BYTES = 100
    with pytest.raises(Invalid):
        announced(data, stamp)
    assert Photo.objects.count() == 1
