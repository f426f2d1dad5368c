"""Patches: read by all, edited by the desk with the version that was read."""

import pytest

from orders.common.models import Change
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def patch():
    return build.PatchFactory(code="H-01", name="North slope")


@pytest.fixture
def address(patch):
    return f"/api/patches/{patch.public_id}"


def test_it_filters_by_site_state_and_species(lead, patch):
    build.SurveyFactory(patch=patch)
    other = build.PatchFactory(code="Z-01", control_state="maintenance")
    site = other.site.public_id
    queries = [f"site={site}", "control_state=maintenance", "species=EUFO", "control_state=maintenance,untreated"]
    found = [[row["code"] for row in lead.rows(f"/api/patches?{query}")] for query in queries]
    assert found == [["Z-01"], ["Z-01"], ["H-01"], ["H-01", "Z-01"]]


def test_it_finds_a_species_by_the_survey_that_counts(lead, patch):
    build.SurveyFactory(patch=patch, observed_on="2025-06-01")
    build.SurveyFactory(patch=patch, observed_on="2026-06-01", components=[])
    assert lead.rows("/api/patches?species=EUFO") == []


def test_it_shows_one(lead, address):
    told = lead.get(address).json()
    assert (told["name"], told["target_cover"], told["control_state"], told["version"]) == (
        "North slope",
        0.05,
        "untreated",
        1,
    )


def test_it_edits_with_the_version_that_was_read(desk, address, patch):
    read = desk.get(address)
    reply = desk.edit(address, {"target_cover": 0.1, "control_state": "maintenance"}, etag=read.headers["ETag"])
    assert (reply.status_code, reply.json()["version"], reply.json()["target_cover"]) == (200, 2, 0.1)
    assert reply.headers["ETag"] == desk.get(address).headers["ETag"] != read.headers["ETag"]
    assert Change.objects.get(verb="patch_edit").before == {"target_cover": 0.05, "control_state": "untreated"}


def test_it_asks_which_version_is_edited(desk, address):
    reply = desk.patch(address, {"name": "South"}, format="json")
    assert (reply.status_code, reply.json()["code"]) == (428, "precondition_missing")


def test_it_refuses_an_edit_of_what_has_changed(desk, address, patch):
    stale = desk.get(address).headers["ETag"]
    desk.edit(address, {"name": "First"}, etag=stale)
    reply = desk.edit(address, {"name": "Second"}, etag=stale)
    assert (reply.status_code, reply.json()["code"]) == (412, "version_mismatch")
    patch.refresh_from_db()
    assert patch.name == "First"


def test_it_never_matches_a_weak_etag(desk, address):
    weak = f"W/{desk.get(address).headers['ETag']}"
    assert desk.edit(address, {"name": "South"}, etag=weak).status_code == 412


@pytest.mark.parametrize("listed", ["*", '"other", {}'])
def test_it_takes_any_version_that_is_named(desk, address, listed):
    named = listed.format(desk.get(address).headers["ETag"])
    assert desk.edit(address, {"name": "South"}, etag=named).status_code == 200


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"target_cover": 1.1}, "target_cover"),
        ({"target_cover": "0.1"}, "target_cover"),
        ({"target_cover": True}, "target_cover"),
        ({"control_state": "tidy"}, "control_state"),
        ({"name": 3}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"code": "H-02"}, "code"),
    ],
)
def test_it_names_what_is_wrong_and_changes_nothing(desk, address, patch, body, field):
    reply = desk.edit(address, body, etag="*")
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    patch.refresh_from_db()
    assert patch.version == 1
