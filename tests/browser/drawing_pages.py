"""Patches drawn and surveyed by hand, split, merged and photographed, in the states that look different."""

import io
import json
from datetime import date

from PIL import Image

from orders.common.pictures import picture_redrawn
from orders.sites.cutting import cut_by_line
from orders.sites.services import Piece, patch_photo_add, patch_split
from orders.sites.sharing import shape_of
from tests import build
from tests.build.base import square
from tests.sites.sheets import newest
from tests.sites.test_succession import patch_build

LINE = json.dumps({"type": "LineString", "coordinates": [[-85.69975, 38.199], [-85.69975, 38.202]]})


def _patch(code: str = "B-04", **more):
    patch = patch_build(code, site=more.pop("site", None) or build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow"))
    for year, cover in ((2023, 0.7), (2024, 0.55), (2025, 0.45)):
        survey = build.SurveyFactory(patch=patch, observed_on=date(year, 10, 1), components=[])
        low, high = cover - 0.1, cover + 0.1
        build.SurveyComponentFactory(survey=survey, cover_likely=cover, cover_low=low, cover_high=high)
    return patch


def _picture() -> bytes:
    made = io.BytesIO()
    Image.radial_gradient("L").resize((320, 240)).convert("RGB").save(made, "JPEG")
    return made.getvalue()


def site_choice() -> str:
    build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")
    return "/patches/new/"


def new_patch() -> str:
    build.SpeciesFactory()
    build.GrowthFormFactory()
    build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")
    return "/patches/new/?site=HOLLOW"


def new_survey() -> str:
    return f"/patches/{_patch().public_id}/survey/new/"


def correction() -> str:
    return f"/surveys/{newest(_patch()).public_id}/correct/"


def wanted() -> str:
    return f"/patches/{_patch().public_id}/change/"


def split() -> str:
    return f"/patches/{_patch().public_id}/split/"


def merge() -> str:
    one = _patch()
    other = patch_build("B-05", site=one.site, geometry=square(lon=-85.699))
    return f"/patches/merge/?patch={one.public_id}&patch={other.public_id}"


def merge_choice() -> str:
    return f"/patches/merge/?patch={_patch().public_id}"


def ended() -> str:
    patch = _patch()
    cut = cut_by_line(shape_of(newest(patch)), LINE)
    pieces = [Piece(f"B-04{letter}", piece) for letter, piece in zip("ab", cut, strict=True)]
    patch_split(patch=patch, pieces=pieces, stamp=build.stamp(reason="The brook parts it"))
    return f"/patches/{patch.public_id}/"


def photos() -> str:
    patch = _patch()
    picture = picture_redrawn(_picture(), name="a.jpg", most_bytes=1024**2)
    patch_photo_add(patch=patch, picture=picture, caption="From the gate", stamp=build.stamp())
    return f"/patches/{patch.public_id}/photos/"


def no_photos() -> str:
    return f"/patches/{_patch().public_id}/photos/"


STATES = {
    "patch-new-site": site_choice,
    "patch-new": new_patch,
    "patch-change": wanted,
    "patch-ended": ended,
    "patch-split": split,
    "patch-merge": merge,
    "patch-merge-choice": merge_choice,
    "patch-photos": photos,
    "patch-photos-none": no_photos,
    "survey-new": new_survey,
    "survey-correct": correction,
}
