"""Pictures that people hand in: drawn anew, so that nothing hides in them, and kept beside the database."""

import io
import os
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from PIL import ExifTags, Image, ImageOps

from orders.common.errors import FieldError, Invalid

MEBIBYTE = 1024**2
TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
# Our own figures: as large as any screen shows, and small enough for a page of thumbnails.
LONGEST_PX, SMALL_PX = 2560, 480
SMALL_BYTES = 40 * 1024
MOST_PIXELS = 60_000_000
QUALITY = 88
SMALL_QUALITIES = (80, 65, 50, 35, 20)
TAKEN = "%Y:%m:%d %H:%M:%S"


@dataclass(frozen=True)
class Redrawn:
    """A picture upright and without what the camera wrote into it, its thumbnail, and the day it was taken on."""

    data: bytes
    small: bytes
    content_type: str
    width_px: int
    height_px: int
    taken_on: date | None


def picture_redrawn(
    data: bytes, *, name: str, most_bytes: int, keep_place: bool = False, field: str = "photos"
) -> Redrawn:
    """Refused where it is no picture, or too large a one, by the name of the form's field. `keep_place` keeps where it
    was taken, and nothing else."""
    if not 0 < len(data) <= most_bytes:
        raise _refused(field, name, f"has more than {most_bytes // MEBIBYTE} MB, or nothing at all")
    try:
        with Image.open(io.BytesIO(data), formats=list(TYPES)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise _refused(field, name, f"has more than {MOST_PIXELS // 1_000_000} million pixels")
            return _redrawn(opened, keep_place)
    except Invalid:
        raise
    except Exception as broken:  # whatever Pillow raises, it is no picture to us
        raise _refused(field, name, "is not a picture of type JPEG, PNG or WebP") from broken


def _refused(field: str, name: str, why: str) -> Invalid:
    return Invalid("The picture was not taken.", [FieldError(field, f"{name[-80:]} {why}.")])


def _redrawn(opened: Image.Image, keep_place: bool) -> Redrawn:
    kind, exif = opened.format or "JPEG", opened.getexif()
    image = ImageOps.exif_transpose(opened)
    image = image.convert("RGBA" if kind == "PNG" and "A" in image.getbands() else "RGB")
    image.thumbnail((LONGEST_PX, LONGEST_PX))
    kept = _place(exif) if keep_place else Image.Exif()
    made = io.BytesIO()
    image.save(made, kind, quality=QUALITY, optimize=True, exif=kept.tobytes())
    return Redrawn(made.getvalue(), _small(image), TYPES[kind], image.width, image.height, _taken_on(exif))


def _place(exif: Image.Exif) -> Image.Exif:
    kept = Image.Exif()
    if place := exif.get_ifd(ExifTags.IFD.GPSInfo):
        kept[ExifTags.IFD.GPSInfo] = dict(place)
    return kept


def _small(image: Image.Image) -> bytes:
    """As good as fits."""
    small = image.convert("RGB")
    small.thumbnail((SMALL_PX, SMALL_PX))
    made = io.BytesIO()
    for quality in SMALL_QUALITIES:
        made = io.BytesIO()
        small.save(made, "WEBP", quality=quality)
        if made.tell() <= SMALL_BYTES:
            break
    return made.getvalue()


def _taken_on(exif: Image.Exif) -> date | None:
    """The day that the camera wrote; a camera's clock knows no time zone."""
    said = exif.get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal)
    try:
        return datetime.strptime(str(said), TAKEN).date()  # noqa: DTZ007 (a day on the calendar has no time zone)
    except ValueError:
        return None


def file_put(path: Path, data: bytes) -> None:
    """Write a new file so that it is whole or not there: its name comes when it is safe on the disk."""
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = path.with_name(f".{path.name}.partial")
    with os.fdopen(os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o640), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    partial.rename(path)
    folder_sync(path.parent)


def folder_sync(folder: Path) -> None:
    """A new name is safe once its folder is."""
    held = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(held)
    finally:
        os.close(held)
