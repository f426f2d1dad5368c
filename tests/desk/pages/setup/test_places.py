"""Sites, jurisdictions, growth forms, questions and species, as the pages of setting up show and change them."""

import html
import json

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.sites.models import ChecklistQuestion, GrowthForm, Jurisdiction, Site, Species
from tests import build
from tests.desk.pages.setup.kit_words import page_of, saved
from tests.desk.pages.setup.typed import typed

pytestmark = pytest.mark.django_db
RING = [[-85.6, 38.2], [-85.599, 38.2], [-85.599, 38.201], [-85.6, 38.2]]
OUTLINE = {"type": "Polygon", "coordinates": [RING]}
SITE = {
    "code": "NEW",
    "name": "New Hollow",
    "jurisdiction": "KY",
    "time_zone": "America/New_York",
    "drive_minutes": "20",
    "drive_miles": "11.5",
    "boundary": json.dumps(OUTLINE),
}
LISTS = ("setup-sites", "setup-jurisdictions", "setup-growth-forms", "setup-questions", "setup-species")
NEW = ("setup-site-new", "setup-jurisdiction-new", "setup-question-new", "setup-species-new")


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel("2026-12-01T15:00:00Z", tick=False):
        yield


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def kentucky():
    return build.JurisdictionFactory(code="KY", name="Kentucky")


@pytest.mark.parametrize("name", [name for name in LISTS if name != "setup-growth-forms"])
def test_it_says_what_they_are_for_where_there_is_none(desk, name):
    page = page_of(desk, name)
    assert "None yet" in page
    assert "/new/" in page


def test_it_adds_a_site_with_a_pasted_boundary(desk, kentucky):
    saved(desk, reverse("setup-site-new"), SITE)
    assert (Site.objects.get().name, Site.objects.get().max_lat) == ("New Hollow", 38.201)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"boundary": ""}, "boundary"),
        ({"boundary": "POLYGON((0 0, 1 1, 1 0, 0 1, 0 0))"}, "boundary"),
        ({"time_zone": "Here"}, "time_zone"),
        ({"drive_miles": "far"}, "drive_miles"),
        ({"code": "TAKEN"}, "code"),
    ],
)
def test_it_says_at_the_field_what_is_wrong_with_a_site(desk, kentucky, changed, field):
    build.SiteFactory(code="TAKEN")
    reply = desk.post(reverse("setup-site-new"), {**SITE, **changed})
    assert reply.status_code == 400
    assert f'id="id_{field}_error"' in reply.content.decode()
    assert Site.objects.count() == 1


def _file():
    feature = {"type": "Feature", "properties": {}, "geometry": OUTLINE}
    data = json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()
    return SimpleUploadedFile("hollow.geojson", data)


def test_it_puts_a_files_outline_on_the_map_before_anything_is_saved(desk, kentucky):
    reply = desk.post(reverse("setup-site-new"), {**SITE, "boundary": "", "file": _file(), "look": "1"})
    assert (reply.status_code, Site.objects.count()) == (200, 0)
    assert json.loads(reply.context["form"]["boundary"].value())["type"] == "Polygon"
    assert reply.context["form"]["name"].value() == "New Hollow"


def test_it_takes_the_outline_of_a_file_with_the_rest(desk, kentucky):
    saved(desk, reverse("setup-site-new"), {**SITE, "boundary": "", "file": _file()})
    assert Site.objects.get().min_lon == -85.6


def test_it_says_at_the_file_why_it_holds_no_boundary(desk, kentucky):
    reply = desk.post(reverse("setup-site-new"), {**SITE, "file": SimpleUploadedFile("a.geojson", b"{}")})
    assert reply.status_code == 400
    assert 'id="id_file_error"' in reply.content.decode()


def test_it_changes_a_site_and_tells_what_lies_outside(desk):
    site = build.SurveyFactory(patch__code="P-9").patch.site
    address = reverse("setup-site", args=[site.public_id])
    values = typed(desk.get(address), boundary=json.dumps(OUTLINE), name="Moved")
    assert saved(desk, address, values) == address
    page = html.unescape(desk.get(address).content.decode())
    assert "1 of its patches lie outside of the boundary in part or whole (1 in whole): P-9" in page
    assert Site.objects.get().name == "Moved"


def test_it_refuses_what_somebody_else_changed_meanwhile(desk):
    address = reverse("setup-site", args=[build.SiteFactory().public_id])
    values = typed(desk.get(address))
    saved(desk, address, {**values, "name": "First"})
    reply = desk.post(address, {**values, "name": "Second"})
    assert (reply.status_code, Site.objects.get().name) == (412, "First")
    assert "Somebody else changed this" in reply.content.decode()


def test_it_marks_sites_whose_emergency_plan_has_gaps(desk):
    build.SiteFactory(name="Bare")
    assert "6 missing" in page_of(desk, "setup-sites")


def test_it_names_a_jurisdiction_anew_with_its_history(desk, kentucky):
    address = reverse("setup-jurisdiction", args=[kentucky.public_id])
    saved(desk, address, typed(desk.get(address), name="Commonwealth"))
    assert Jurisdiction.objects.get().name == "Commonwealth"
    assert "<del>Kentucky</del>" in desk.get(address).content.decode()


def test_it_refuses_a_word_that_somebody_else_changed(desk, kentucky):
    address = reverse("setup-jurisdiction", args=[kentucky.public_id])
    values = typed(desk.get(address))
    saved(desk, address, {**values, "name": "One"})
    assert desk.post(address, {**values, "name": "Two"}).status_code == 412


def test_it_changes_what_a_growth_form_is_called(desk):
    row = GrowthForm.objects.get(code="shrub")
    address = reverse("setup-growth-form", args=[row.public_id])
    saved(desk, address, typed(desk.get(address), name="Bush"))
    assert GrowthForm.objects.get(code="shrub").name == "Bush"


def test_it_adds_and_takes_out_a_question(desk):
    saved(desk, reverse("setup-question-new"), {"code": "gas", "question": "Gas lines?", "sort": "5"})
    row = ChecklistQuestion.objects.get()
    assert "Take it out" in page_of(desk, "setup-question", row.public_id)
    saved(desk, reverse("setup-question-remove", args=[row.public_id]), {})
    assert not ChecklistQuestion.objects.exists()


def test_it_keeps_a_question_that_was_answered(desk):
    row = build.ChecklistAnswerFactory().question
    assert "Take it out" not in page_of(desk, "setup-question", row.public_id)
    reply = desk.post(reverse("setup-question-remove", args=[row.public_id]), {})
    assert (reply.status_code, ChecklistQuestion.objects.count()) == (409, 1)


SPECIES = {
    "code": "LOJA",
    "scientific_name": "Lonicera x",
    "common_name": "vine",
    "pulled_stems_reroot": "unknown",
    "fruit_first": "09-01",
    "fruit_last": "11-30",
    "phenology_source": "invented",
}


def test_it_adds_a_species_with_its_days(desk):
    saved(desk, reverse("setup-species-new"), SPECIES)
    row = Species.objects.get()
    assert (row.fruit_first_month, row.fruit_last_day) == (9, 30)
    assert "Sep 1 to Nov 30" in page_of(desk, "setup-species")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"fruit_last": ""}, "fruit_last"),
        ({"fruit_first": "13-01"}, "fruit_first"),
        ({"phenology_source": ""}, "phenology_source"),
        ({"pulled_stems_reroot": "yes"}, "reroot_source"),
    ],
)
def test_it_says_at_the_field_what_is_wrong_with_a_species(desk, changed, field):
    reply = desk.post(reverse("setup-species-new"), {**SPECIES, **changed})
    assert reply.status_code == 400
    assert f'id="id_{field}_error"' in reply.content.decode()


def test_it_changes_a_day_of_a_species_and_says_where_half_a_range_stands(desk):
    row = build.SpeciesFactory()
    address = reverse("setup-species-one", args=[row.public_id])
    values = typed(desk.get(address))
    reply = desk.post(address, {**values, "fruit_last": ""})
    assert 'id="id_fruit_last_error"' in reply.content.decode()
    saved(desk, address, {**values, "fruit_last": "12-15"})
    assert Species.objects.get().fruit_last_month == 12


@pytest.mark.parametrize("name", LISTS)
def test_lists_are_the_offices_to_read(client, crew_lead, finance, name):
    client.force_login(crew_lead)
    assert client.get(reverse(name)).status_code == 403
    client.force_login(finance)
    assert client.get(reverse(name)).status_code == 200


@pytest.mark.parametrize("name", NEW)
def test_changing_is_the_desks(client, finance, name):
    client.force_login(finance)
    assert client.get(reverse(name)).status_code == 403


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("setup-sites", lambda number: build.SiteFactory(jurisdiction=build.JurisdictionFactory(code=f"J{number}"))),
        ("setup-questions", lambda number: build.ChecklistAnswerFactory()),
        ("setup-jurisdictions", lambda number: build.JurisdictionFactory(code=f"J{number}")),
    ],
)
def test_queries_do_not_grow_with_rows(desk, name, make, django_assert_max_num_queries):
    for number in range(12):
        make(number)
    with django_assert_max_num_queries(18):
        assert desk.get(reverse(name)).status_code == 200


def test_it_links_nobody_to_what_they_may_not_change(client, finance, kentucky):
    client.force_login(finance)
    assert reverse("setup-jurisdiction", args=[kentucky.public_id]) not in page_of(client, "setup-jurisdictions")
