"""Pages on which patches are drawn, surveyed, split, merged and photographed."""

import io
import json
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from orders.estimates.models import Estimate
from orders.sites.models import Patch, PatchPhoto, Survey
from tests import build
from tests.build.base import square
from tests.planning.choices import ground_build
from tests.sites.sheets import newest
from tests.sites.test_succession import patch_build

pytestmark = pytest.mark.django_db
LINE = json.dumps({"type": "LineString", "coordinates": [[-85.69975, 38.199], [-85.69975, 38.202]]})


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path / "photos"


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def site():
    build.SpeciesFactory()
    build.GrowthFormFactory()
    return build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")


def typed(**more):
    return {
        "code": "B-04",
        "outline": json.dumps(square()),
        "observed_on": "2026-11-20",
        "observer": "A. Surveyor",
        "distance_to_water_ft": "100",
        "control_state": "untreated",
        "c0-species": "EUFO",
        "c0-growth_form": "ground cover",
        "c0-cover_percent": "40",
        **more,
    }


def picture(name="fence.jpg"):
    out = io.BytesIO()
    Image.radial_gradient("L").resize((64, 40)).convert("RGB").save(out, "JPEG")
    return SimpleUploadedFile(name, out.getvalue(), "image/jpeg")


def text(reply):
    return reply.content.decode()


def test_a_patch_is_entered_without_scripts(desk, site):
    assert "Ketterfold Hollow (HOLLOW)" in text(desk.get("/patches/new/"))
    assert 'value="P-001"' in text(desk.get("/patches/new/?site=HOLLOW"))
    reply = desk.post("/patches/new/?site=HOLLOW", typed(patch_name="Old orchard"), follow=True)
    patch = Patch.objects.get()
    assert reply.redirect_chain == [(f"/patches/{patch.public_id}/", 302)]
    assert "The survey of HOLLOW B-04 is on record." in text(reply)
    assert newest(patch).distance_to_water_m == pytest.approx(30.48)


def test_what_is_wrong_stands_beside_its_field(desk, site):
    wrong = {"c0-cover_percent": "140", "slope_deg": "steep", "outline": "", "observed_on": ""}
    reply = desk.post("/patches/new/?site=HOLLOW", typed(**wrong))
    assert (reply.status_code, Patch.objects.count()) == (400, 0)
    assert "Draw it, or give it as text." in text(reply)
    reply = desk.post("/patches/new/?site=HOLLOW", typed(**{**wrong, "outline": json.dumps(square())}))
    for name, words in (("id_c0-cover_percent", "not from 0 to 100"), ("id_slope_deg", "is not a number")):
        told = text(reply).split(f'id="{name}_error">')[1]
        assert words in told.split("</p>")[0]
    assert 'value="140"' in text(reply)


def test_a_component_more_and_one_less_keep_what_was_typed(desk, site):
    more = text(desk.post("/patches/new/?site=HOLLOW", typed(more="1", observer="Somebody")))
    assert "Component 2" in more
    assert 'name="c1-species"' in more
    assert 'value="Somebody"' in more
    second = {"c1-species": "EUFO", "c1-growth_form": "ground cover", "c1-cover_percent": "77", "drop": "0"}
    less = text(desk.post("/patches/new/?site=HOLLOW", typed(**second)))
    assert "Component 2" not in less
    assert 'name="c0-cover_percent" value="77"' in less
    assert Patch.objects.count() == 0


def test_a_new_survey_starts_from_the_last_outline(desk):
    patch = patch_build()
    shown = text(desk.get(f"/patches/{patch.public_id}/survey/new/"))
    assert "-85.699" in shown.split("<textarea")[1]
    reply = desk.post(f"/patches/{patch.public_id}/survey/new/", typed())
    assert (reply.status_code, patch.surveys.count()) == (302, 2)


def test_a_survey_is_put_right_with_a_reason(desk):
    survey = newest(patch_build())
    path = f"/surveys/{survey.public_id}/correct/"
    assert "A. Surveyor" in text(desk.get(path))
    assert desk.post(path, typed()).status_code == 400  # no reason
    assert desk.post(path, typed(reason="Read off the wrong line")).status_code == 302
    survey.refresh_from_db()
    assert survey.void_reason == "Read off the wrong line"


def test_a_survey_is_taken_back(desk):
    survey = newest(patch_build())
    desk.post(f"/surveys/{survey.public_id}/take-back/", {"back-reason": "Another patch was meant"})
    assert Survey.objects.get().void_reason == "Another patch was meant"


def test_what_is_wanted_is_changed(desk):
    patch = patch_build()
    facts = {"name": "North", "target_cover_percent": "3", "control_state": "maintenance", "version": 1}
    assert desk.post(f"/patches/{patch.public_id}/change/", facts).status_code == 302
    assert desk.post(f"/patches/{patch.public_id}/change/", {**facts, "name": "South"}).status_code == 412
    patch.refresh_from_db()
    assert (patch.name, patch.target_cover, patch.control_state) == ("North", 0.03, "maintenance")


def test_a_patch_is_split_looked_at_and_taken_back(desk):
    patch = patch_build()
    path = f"/patches/{patch.public_id}/split/"
    assert "Draw the line" in text(desk.get(path))
    looked = text(desk.post(path, {"cut": LINE, "step": "look"}))
    assert 'value="B-04a"' in looked
    assert 'value="B-04b"' in looked
    asked = {"cut": LINE, "step": "split", "reason": "The brook", "code-0": "East", "code-1": "West"}
    reply = desk.post(path, asked, follow=True)
    assert "B-04" in text(reply)
    assert "It came of splitting" in text(reply)
    assert "It was split and became" in text(desk.get(f"/patches/{patch.public_id}/"))
    event = patch.became.first().event
    back = desk.post(f"/patches/successions/{event}/undo/", {"reason": "Slip"}, follow=True)
    assert "Taken back: B-04 as before." in text(back)
    patch.refresh_from_db()
    assert patch.ended_on is None


def test_outlines_split_too_and_bad_ones_are_told(desk):
    patch = patch_build()
    path = f"/patches/{patch.public_id}/split/?by=outlines"
    inner = json.dumps(square(side=0.0004))
    assert "2 pieces" in text(desk.post(path, {"cut": inner, "step": "look"}))
    far = json.dumps(square(lon=-85.8))
    reply = desk.post(path, {"cut": far, "step": "look"})
    assert (reply.status_code, "reaches out of the patch" in text(reply)) == (400, True)


def test_patches_are_chosen_and_merged(desk):
    one = patch_build("B-04")
    other = patch_build("B-05", site=one.site, geometry=square(lon=-85.699))
    chosen = text(desk.get(f"/patches/merge/?patch={one.public_id}"))
    assert "B-05" in chosen
    both = f"?patch={one.public_id}&patch={other.public_id}"
    assert 'value="B-04+B-05"' in text(desk.get(f"/patches/merge/{both}"))
    asked = {"patch": [one.public_id, other.public_id], "code": "B-45", "reason": "One crew works both"}
    reply = desk.post("/patches/merge/", asked, follow=True)
    assert "It came of merging" in text(reply)
    assert Patch.objects.get(code="B-45").ended_on is None
    assert Patch.objects.filter(ended_on__isnull=False).count() == 2


def test_work_that_stands_is_named_and_open_wishes_go(desk):
    patch = patch_build()
    wish = build.PrescriptionFactory(patch=patch, state="open")
    share = build.VisitShareFactory(prescription=build.PrescriptionFactory(patch=patch, state="planned"))
    share.visit.state = "planned"
    share.visit.save()
    path = f"/patches/{patch.public_id}/split/"
    assert "A visit to HOLLOW B-04 is planned" in text(desk.get(path))
    asked = {"cut": LINE, "step": "split", "reason": "The brook", "code-0": "East", "code-1": "West"}
    assert desk.post(path, asked).status_code == 409
    share.visit.state = "dropped"
    share.visit.save()
    assert desk.post(path, asked).status_code == 302
    wish.refresh_from_db()
    assert wish.state == "dropped"


def test_photos_come_and_go(desk, finance, client):
    patch = patch_build()
    path = f"/patches/{patch.public_id}/photos/"
    facts = {"photos": [picture(), picture("two.jpg")], "caption": "From the gate"}
    assert desk.post(path, facts).status_code == 400  # the same picture twice: neither is kept
    assert desk.post(path, {**facts, "photos": [picture()]}).status_code == 302
    photo = PatchPhoto.objects.get()
    assert "From the gate" in text(desk.get(path))
    assert desk.get(f"/patches/photos/{photo.public_id}/small/")["Content-Type"] == "image/webp"
    down = desk.post(f"/patches/photos/{photo.public_id}/take-down/", follow=True)
    assert "Taken down (1)" in text(down)
    assert "1 photo" in text(desk.post(f"/patches/photos/{photo.public_id}/put-back/", follow=True))
    client.force_login(finance)
    assert client.get(f"/patches/photos/{photo.public_id}/")["Content-Type"] == "image/jpeg"
    assert client.post(path, facts).status_code == 403


def test_crews_photos_of_the_patch_stand_beside(desk, coordinator):
    patch = patch_build()
    prescription = build.PrescriptionFactory(patch=patch)
    mine = {"state": "whole", "about": "prescription", "about_id": prescription.public_id}
    build.PhotoFactory(caption="Cut stems", **mine)
    build.PhotoFactory(caption="Elsewhere", **{**mine, "about_id": build.PrescriptionFactory().public_id})
    shown = text(desk.get(f"/patches/{patch.public_id}/photos/"))
    assert "Cut stems" in shown
    assert "Elsewhere" not in shown


def test_the_strip_tells_surveys_work_and_the_aim(desk):
    patch = ground_build().wide
    for year, cover in ((2024, 0.7), (2025, 0.5)):
        survey = build.SurveyFactory(patch=patch, observed_on=date(year, 10, 1), components=[])
        build.SurveyComponentFactory(survey=survey, cover_likely=cover, cover_low=cover, cover_high=cover)
    estimate = Estimate.objects.filter(survey__patch=patch).select_related("method")[0]
    wish = build.PrescriptionFactory(patch=patch, estimate=estimate, method=estimate.method)
    outcome = build.PatchOutcomeFactory(prescription=wish, percent_complete=60)
    shown = text(desk.get(f"/patches/{patch.public_id}/"))
    table = shown.split('id="history"')[1]
    assert "Oct 1, 2024" in table
    assert "70%" in table
    words = f"{estimate.method.name.capitalize()} (order {outcome.close_out.order.number}, 60% done)"
    assert words in table


def test_the_page_asks_the_same_whatever_its_history(desk, django_assert_max_num_queries):
    few = patch_build("A-1")
    many = patch_build("A-2", site=few.site)
    _surveys(few, 2)
    _surveys(many, 12)
    counts = []
    for patch in (few, many):
        with django_assert_max_num_queries(200) as asked:
            assert desk.get(f"/patches/{patch.public_id}/").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def _surveys(patch, count):
    for number in range(count):
        build.SurveyFactory(patch=patch, observed_on=date(2020, 1, 1) + timedelta(days=90 * number))


@pytest.mark.parametrize("page", ["survey/new", "split", "change", "photos"])
def test_they_open_to_their_roles_alone(client, crew_lead, page):
    client.force_login(crew_lead)
    assert client.get(f"/patches/{patch_build().public_id}/{page}/").status_code == 403
