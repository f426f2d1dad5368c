"""Pictures: announced by a command, then their bytes in parts, which can be taken up again where they broke off.

The file is written before the row says how far it got, so that the row never promises bytes that are not there. Bytes
are kept as they came.
"""

import hashlib
import os
from pathlib import Path

from django.conf import settings
from PIL import Image

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.models import Photo


class WrongOffset(Refusal):
    """The part does not begin where the last one ended; `data` says where that is."""

    code = "wrong_offset"
    title = "The part begins somewhere else"


class PartTooLong(Refusal):
    """More bytes than the picture was said to have."""

    code = "part_too_long"
    title = "More bytes than were announced"
    status = 400


def photo_path(photo: Photo) -> Path:
    return Path(settings.PHOTO_DIR) / str(photo.public_id)


@writing()
def photo_announce(*, photo: Photo, stamp: Stamp) -> Photo:
    """A picture whose bytes will follow. What is larger than the limit is not taken."""
    known = Photo.objects.filter(public_id=photo.public_id).first()
    if known:
        return known
    if photo.size_bytes > settings.PHOTO_MAX_BYTES:
        most = settings.PHOTO_MAX_BYTES // 1024**2
        raise Invalid(f"A picture has {most} MB at most.", [FieldError("size_bytes", "is too large")])
    photo.received_at, photo.by = stamp.at, stamp.by
    photo.save(force_insert=True)
    return photo


@writing()
def photo_part_add(*, photo: Photo, offset: int, data: bytes, stamp: Stamp) -> Photo:
    """The bytes from `offset` on. The last part is followed by a look at the whole: its checksum, and that it is a
    picture. One whose checksum is wrong begins anew; one that is no picture is kept for a person to look at."""
    photo = Photo.objects.get(pk=photo.pk)
    there = photo_received(photo)
    if offset != there or there == photo.size_bytes:
        raise WrongOffset("The part begins somewhere else.", data={"offset": there})
    if offset + len(data) > photo.size_bytes:
        raise PartTooLong(f"The picture was said to have {photo.size_bytes} bytes.")
    path = photo_path(photo)
    _write(path, offset, data)
    photo.received_bytes = offset + len(data)
    photo.state, photo.whole_at = "waiting", None
    if photo.received_bytes == photo.size_bytes:
        _end(photo, path, stamp)
    photo.save(update_fields=["received_bytes", "state", "whole_at"])
    return photo


def photo_received(photo: Photo) -> int:
    """How far the bytes have come, by the row and by the file: one of them may be of an older backup."""
    path = photo_path(photo)
    held = path.stat().st_size if path.exists() else 0
    return min(photo.received_bytes, held)


def _write(path: Path, offset: int, data: bytes) -> None:
    is_new = not path.exists()
    path.parent.mkdir(parents=True, exist_ok=True)
    with os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT, 0o640), "r+b") as file:
        file.truncate(offset)  # what a broken write left behind the known end
        file.seek(offset)
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if is_new:
        _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """A new name is safe once its folder is."""
    held = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(held)
    finally:
        os.close(held)


def _end(photo: Photo, path: Path, stamp: Stamp) -> None:
    if hashlib.sha256(path.read_bytes()).hexdigest() != photo.sha256:
        photo.state, photo.received_bytes = "broken", 0
        return
    photo.state = "whole" if _is_picture(path) else "broken"
    photo.whole_at = stamp.at if photo.state == "whole" else None
    change_record(stamp=stamp, verb="photo_whole", entity=photo, after={"state": photo.state})


def _is_picture(path: Path) -> bool:
    """A look at its structure; nothing is decoded or changed. Whatever Pillow raises, it is no picture to us."""
    try:
        with Image.open(path, formats=["JPEG", "PNG", "WEBP"]) as image:
            image.verify()
    except Exception:
        return False
    return True
