"""Surveys entered, patches split and merged, photos kept: from the API."""

import io

import pytest
from PIL import Image

from orders.sites.models import Patch, PatchPhoto, Survey
from tests import build
from tests.api.caller import error_fields
from tests.build.base import square
from tests.sites.test_succession import patch_build

pytestmark = pytest.mark.django_db
LINE = {"type": "LineString", "coordinates": [[-85.69975, 38.199], [-85.69975, 38.202]]}


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path / "photos"


@pytest.fixture
def site():
    build.SpeciesFactory()
    build.GrowthFormFactory()
    return build.SiteFactory(code="HOLLOW")


def sheet(**more):
    part = {"species": "EUFO", "growth_form": "ground cover", "cover_percent": 40}
    return {
        "outline": square(),
        "observed_on": "2026-11-20",
        "observer": "A. Surveyor",
        "components": [part],
        **more,
    }


def picture():
    out = io.BytesIO()
    Image.radial_gradient("L").resize((64, 40)).convert("RGB").save(out, "JPEG")
    out.seek(0)
    out.name = "fence.jpg"
    return out


def test_a_new_patch_and_another_survey_of_it(desk, site):
    made = desk.send("/api/surveys", sheet(site=str(site.public_id), code="B-04", slope_deg=12))
    assert made.status_code == 201, made.content
    patch = made.json()["patch"]
    again = desk.send("/api/surveys", sheet(patch=patch["id"], observed_on="2026-11-30", observer="Another"))
    assert (again.status_code, Survey.objects.count()) == (201, 2)
    assert desk.get(f"/api/surveys/{made.json()['survey']}").json()["slope_deg"] == 12


def test_it_names_what_is_wrong(desk, site):
    wrong = sheet(site=str(site.public_id), code="B-04")
    wrong["components"].append({"species": "NOPE", "growth_form": "ground cover", "cover_percent": 3})
    reply = desk.send("/api/surveys", wrong)
    assert reply.status_code == 400
    assert [(one["field"], one.get("row")) for one in reply.json()["errors"]] == [("components.species", 2)]
    assert error_fields(desk.send("/api/surveys", sheet())) == ["patch"]
    assert error_fields(desk.send("/api/surveys", sheet(site=str(site.public_id)))) == ["patch"]


def test_a_survey_is_corrected(desk, site):
    made = desk.send("/api/surveys", sheet(site=str(site.public_id), code="B-04")).json()
    right = sheet(reason="Read off the wrong line")
    right["components"][0]["cover_percent"] = 14
    reply = desk.send(f"/api/surveys/{made['survey']}/correct", right)
    assert reply.status_code == 201
    assert desk.get(f"/api/surveys/{made['survey']}").json()["void_reason"] == "Read off the wrong line"


def test_a_patch_is_split_merged_and_both_taken_back(desk):
    patch = patch_build()
    split = desk.send(f"/api/patches/{patch.public_id}/split", {"line": LINE, "reason": "The brook"})
    assert split.status_code == 201, split.content
    assert [one["code"] for one in split.json()["after"]] == ["B-04a", "B-04b"]
    ids = [one["id"] for one in split.json()["after"]]
    merged = desk.send("/api/patches/merge", {"patches": ids, "code": "B-9", "reason": "One crew works both"})
    assert merged.status_code == 201, merged.content
    assert desk.send(f"/api/patch-successions/{split.json()['event']}/undo", {"reason": "Slip"}).status_code == 409
    for made in (merged, split):
        reply = desk.send(f"/api/patch-successions/{made.json()['event']}/undo", {"reason": "Slip"})
        assert reply.status_code == 200, reply.content
    assert Patch.objects.get(code="B-04").ended_on is None
    rows = desk.rows(f"/api/patch-successions?before={patch.public_id}")
    assert {row["undone_at"] is not None for row in rows} == {True}
    assert [row["code"] for row in desk.rows("/api/patches?ended=false")] == ["B-04"]


def test_a_split_by_pieces(desk):
    patch = patch_build()
    west, east = square(side=0.0005), square(lon=-85.6995, side=0.0005)
    pieces = [{"code": "W", "outline": west}, {"code": "E", "outline": east}]
    path = f"/api/patches/{patch.public_id}/split"
    assert desk.send(path, {"pieces": pieces, "reason": "Half is missing"}).status_code == 400
    ring = [[-85.7, 38.2], [-85.6995, 38.2], [-85.6995, 38.201], [-85.7, 38.201], [-85.7, 38.2]]
    other = [[-85.6995, 38.2], [-85.699, 38.2], [-85.699, 38.201], [-85.6995, 38.201], [-85.6995, 38.2]]
    for piece, corners in zip(pieces, (ring, other), strict=True):
        piece["outline"] = {"type": "Polygon", "coordinates": [corners]}
    assert desk.send(path, {"pieces": pieces, "reason": "Halves"}).status_code == 201
    assert error_fields(desk.send(path, {"reason": "Neither"})) == ["line"]


def test_work_on_the_ground_keeps_a_patch_whole(desk):
    patch = patch_build()
    prescription = build.PrescriptionFactory(patch=patch, state="ordered")
    visit = build.VisitShareFactory(prescription=prescription).visit
    order = build.WorkOrderFactory(state="issued")
    build.OrderVisitFactory(order=order, visit=visit)
    reply = desk.send(f"/api/patches/{patch.public_id}/split", {"line": LINE, "reason": "The brook"})
    assert reply.status_code == 409
    assert f"Work order {order.number} (issued) holds" in reply.json()["errors"][0]["message"]


def test_photos_are_added_shown_taken_down_and_put_back(desk, lead):
    patch = build.PatchFactory()
    form = {"patch": str(patch.public_id), "file": picture(), "caption": "Fence"}
    made = desk.post("/api/patch-photos", form, format="multipart", headers={"Idempotency-Key": "photo-of-november"})
    assert made.status_code == 201, made.content
    path = f"/api/patch-photos/{made.json()['id']}"
    file, small = lead.get(f"{path}/file"), lead.get(f"{path}/small")
    assert (file["Content-Type"], small["Content-Type"]) == ("image/jpeg", "image/webp")
    assert desk.send(f"{path}/remove").json()["removed_at"] is not None
    assert desk.rows(f"/api/patch-photos?patch={patch.public_id}&removed=false") == []
    assert desk.send(f"{path}/restore").json()["removed_at"] is None
    assert PatchPhoto.objects.get().removed_at is None


def test_what_is_no_picture_is_named(desk):
    form = {"patch": str(build.PatchFactory().public_id), "file": io.BytesIO(b"<svg/>")}
    reply = desk.post("/api/patch-photos", form, format="multipart", headers={"Idempotency-Key": "photo-of-november"})
    assert (reply.status_code, error_fields(reply)) == (400, ["file"])


@pytest.mark.parametrize("rows", [2, 9])
def test_lists_ask_the_same_whatever_their_rows(desk, rows, django_assert_max_num_queries):
    patch = build.PatchFactory()
    for number in range(rows):
        facts = {"taken_on": "2026-11-01", "content_type": "image/jpeg", "size_bytes": 1, "width_px": 1, "height_px": 1}
        PatchPhoto.objects.create(patch=patch, sha256=str(number), at="2026-11-01T12:00Z", **facts)
    with django_assert_max_num_queries(4):
        assert len(desk.get("/api/patch-photos").json()["results"]) == rows
