"""Photos that the office keeps of a patch. The file is written before the row, so that no row promises bytes that are
not there; a photo that was taken down keeps both."""

import hashlib
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from django.conf import settings

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, NotFound, WrongState
from orders.common.pictures import Redrawn, file_put
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import Patch, PatchPhoto
from orders.sites.services.reasons import storable

CAPTION_CHARACTERS = 200
FOLDER = "patches"
SMALL_TYPE = "image/webp"
SMALL = "small"


def patch_photo_path(photo: PatchPhoto, *, small: bool = False) -> Path:
    return Path(settings.PHOTO_DIR) / FOLDER / (f"{photo.public_id}-{SMALL}" if small else str(photo.public_id))


def patch_photo_bytes(photo: PatchPhoto, *, small: bool = False) -> bytes:
    try:
        return patch_photo_path(photo, small=small).read_bytes()
    except FileNotFoundError as gone:
        raise NotFound("The file of this photo is not there. It may be of another backup than the database.") from gone


@writing()
def patch_photo_add(
    *, patch: Patch, picture: Redrawn, taken_on: date | None = None, caption: str = "", stamp: Stamp
) -> PatchPhoto:
    """Keep a picture that was drawn anew. Its day: as given, else as the camera wrote, else today."""
    today = stamp.local_date(patch.site.time_zone)
    on = taken_on or _sensible(picture.taken_on, today) or today
    found = Findings()
    found.need(on <= today, "taken_on", f"{on} is in the future.")
    found.need(caption == storable(caption)[:CAPTION_CHARACTERS], "caption", "At most 200 characters of text.")
    found.refuse("The photo was not added.")
    photo = PatchPhoto(
        patch=patch,
        taken_on=on,
        caption=caption,
        content_type=picture.content_type,
        size_bytes=len(picture.data),
        sha256=hashlib.sha256(picture.data).hexdigest(),
        width_px=picture.width_px,
        height_px=picture.height_px,
        by=stamp.by,
        at=stamp.at,
    )
    _once_check(photo)
    file_put(patch_photo_path(photo), picture.data)
    file_put(patch_photo_path(photo, small=True), picture.small)
    photo.save(force_insert=True)
    after = {"patch": str(patch.public_id), "taken_on": on.isoformat(), "caption": caption, "sha256": photo.sha256}
    change_record(stamp=stamp, verb="patch_photo_add", entity=photo, after=after)
    return photo


@writing()
def patch_photos_add(
    *, patch: Patch, pictures: Sequence[Redrawn], taken_on: date | None = None, caption: str = "", stamp: Stamp
) -> list[PatchPhoto]:
    """Several at once: all or none."""
    return [
        patch_photo_add(patch=patch, picture=one, taken_on=taken_on, caption=caption, stamp=stamp) for one in pictures
    ]


@writing()
def patch_photo_remove(*, photo: PatchPhoto, stamp: Stamp) -> PatchPhoto:
    """Take it down: it is shown no more, and can be put back."""
    if not PatchPhoto.objects.filter(pk=photo.pk, removed_at=None).update(removed_at=stamp.at):
        raise WrongState("This photo was taken down already.")
    photo.removed_at = stamp.at
    change_record(stamp=stamp, verb="patch_photo_remove", entity=photo, after={"removed_at": stamp.at.isoformat()})
    return photo


@writing()
def patch_photo_restore(*, photo: PatchPhoto, stamp: Stamp) -> PatchPhoto:
    """Put a photo back that was taken down."""
    _once_check(photo)
    if not PatchPhoto.objects.filter(pk=photo.pk, removed_at__isnull=False).update(removed_at=None):
        raise WrongState("This photo is shown already.")
    photo.removed_at = None
    change_record(stamp=stamp, verb="patch_photo_restore", entity=photo, after={"removed_at": None})
    return photo


def _once_check(photo: PatchPhoto) -> None:
    same = PatchPhoto.objects.filter(patch=photo.patch, sha256=photo.sha256, removed_at=None).exclude(pk=photo.pk)
    if held := same.first():
        message = f"{photo.patch} has this photo already, of {held.taken_on}."
        raise Invalid("The photo was not added.", [FieldError("photos", message, code="unique")])


def _sensible(day: date | None, today: date) -> date | None:
    """A camera whose clock was never set says the year 2000, or a day that is still to come."""
    return day if day is not None and day <= today else None
