"""Photos of patches: drawn anew, kept once, taken down and put back."""

import io
from datetime import date

import pytest
from PIL import ExifTags, Image

from orders.common.errors import Invalid, NotFound, WrongState
from orders.common.pictures import SMALL_BYTES, picture_redrawn
from orders.sites.models import PatchPhoto
from orders.sites.services import patch_photo_add, patch_photo_remove, patch_photo_restore
from orders.sites.services.photos import patch_photo_bytes, patch_photo_path
from tests import build

pytestmark = pytest.mark.django_db
MOST = 12 * 1024**2


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path / "media" / "photos"


def picture(size=(64, 40), kind="JPEG", exif=None):
    out = io.BytesIO()
    Image.radial_gradient("L").resize(size).convert("RGB").save(out, kind, **({"exif": exif} if exif else {}))
    return out.getvalue()


def written_by_a_camera(taken="2026:10:03 11:20:00", orientation=6):
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Model] = "Invented camera"
    exif[ExifTags.IFD.Exif] = {ExifTags.Base.DateTimeOriginal: taken}
    exif[ExifTags.IFD.GPSInfo] = {1: "N", 2: (38.0, 12.0, 0.0), 3: "W", 4: (85.0, 42.0, 0.0)}
    return exif


def redrawn(data=None, **more):
    return picture_redrawn(data or picture(), name="a.jpg", most_bytes=MOST, **more)


def test_it_is_upright_and_says_nothing_of_place_or_camera():
    made = redrawn(picture(exif=written_by_a_camera()))
    assert (made.width_px, made.height_px, made.taken_on) == (40, 64, date(2026, 10, 3))
    kept = Image.open(io.BytesIO(made.data)).getexif()
    assert dict(kept) == {}
    assert dict(kept.get_ifd(ExifTags.IFD.GPSInfo)) == {}


def test_the_place_alone_is_kept_where_it_is_asked_for():
    kept = Image.open(io.BytesIO(redrawn(picture(exif=written_by_a_camera()), keep_place=True).data)).getexif()
    assert kept.get_ifd(ExifTags.IFD.GPSInfo)[2] == (38.0, 12.0, 0.0)
    assert ExifTags.Base.Model not in kept
    assert ExifTags.Base.Orientation not in kept


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_large_one_is_made_smaller_and_has_a_small_one(kind):
    made = redrawn(picture((3000, 2000), kind))
    small = Image.open(io.BytesIO(made.small))
    assert (made.width_px, made.content_type) == (2560, f"image/{kind.lower()}")
    assert (small.format, small.width) == ("WEBP", 480)
    assert len(made.small) <= SMALL_BYTES


@pytest.mark.parametrize("data", [b"", b"<svg/>", picture()[:200], b"GIF89a"])
def test_it_refuses_what_is_no_picture(data):
    with pytest.raises(Invalid):
        picture_redrawn(data, name="a.jpg", most_bytes=MOST)


def test_it_refuses_too_many_bytes():
    with pytest.raises(Invalid, match="not taken"):
        picture_redrawn(picture(), name="a.jpg", most_bytes=100)


def test_it_is_kept_with_its_small_one(stamp):
    made = redrawn(picture(exif=written_by_a_camera()))
    photo = patch_photo_add(patch=build.PatchFactory(), picture=made, caption="From the gate", stamp=stamp)
    assert (photo.taken_on, photo.caption) == (date(2026, 10, 3), "From the gate")
    assert (patch_photo_bytes(photo), patch_photo_bytes(photo, small=True)) == (made.data, made.small)


def test_a_camera_with_a_wrong_clock_is_not_believed(stamp):
    made = redrawn(picture(exif=written_by_a_camera(taken="2031:01:01 00:00:00")))
    assert patch_photo_add(patch=build.PatchFactory(), picture=made, stamp=stamp).taken_on == stamp.at.date()


def test_a_day_that_is_to_come_is_refused(stamp):
    with pytest.raises(Invalid) as refused:
        patch_photo_add(patch=build.PatchFactory(), picture=redrawn(), taken_on=date(2027, 3, 2), stamp=stamp)
    assert [error.field for error in refused.value.errors] == ["taken_on"]


def test_the_same_picture_is_kept_once_a_patch(stamp):
    patch, made = build.PatchFactory(), redrawn()
    patch_photo_add(patch=patch, picture=made, stamp=stamp)
    with pytest.raises(Invalid, match="not added"):
        patch_photo_add(patch=patch, picture=made, stamp=stamp)
    patch_photo_add(patch=build.PatchFactory(), picture=made, stamp=stamp)
    assert PatchPhoto.objects.count() == 2


def test_taken_down_and_put_back(stamp):
    patch, made = build.PatchFactory(), redrawn()
    photo = patch_photo_add(patch=patch, picture=made, stamp=stamp)
    patch_photo_remove(photo=photo, stamp=stamp)
    with pytest.raises(WrongState):
        patch_photo_remove(photo=photo, stamp=stamp)
    assert PatchPhoto.objects.get().removed_at == stamp.at
    patch_photo_restore(photo=photo, stamp=stamp)
    assert PatchPhoto.objects.get().removed_at is None
    assert patch_photo_bytes(photo) == made.data


def test_it_is_not_put_back_beside_its_double(stamp):
    patch, made = build.PatchFactory(), redrawn()
    photo = patch_photo_add(patch=patch, picture=made, stamp=stamp)
    patch_photo_remove(photo=photo, stamp=stamp)
    patch_photo_add(patch=patch, picture=made, stamp=stamp)
    with pytest.raises(Invalid):
        patch_photo_restore(photo=photo, stamp=stamp)


def test_a_file_that_is_gone_is_told(stamp):
    photo = patch_photo_add(patch=build.PatchFactory(), picture=redrawn(), stamp=stamp)
    patch_photo_path(photo).unlink()
    with pytest.raises(NotFound):
        patch_photo_bytes(photo)
