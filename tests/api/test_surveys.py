"""Surveys: listed, shown with components, voided with a reason."""

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def survey():
    return build.SurveyFactory(observed_on="2026-10-12")


def test_it_lists_without_shapes(lead, survey):
    (row,) = lead.rows("/api/surveys")
    assert (row["patch"]["code"], row["observed_on"]) == (survey.patch.code, "2026-10-12")
    assert "geometry" not in row


def test_it_shows_the_components_of_one(lead, survey):
    told = lead.get(f"/api/surveys/{survey.public_id}").json()
    (component,) = told["components"]
    assert (component["species"]["code"], component["growth_form"], component["cover_likely"]) == (
        "EUFO",
        "ground cover",
        0.4,
    )
    assert told["geometry"]["type"] == "Polygon"


def test_it_shows_the_ground_and_where_climbers_are_cut(lead):
    rough = build.SurveyFactory(ground="rough", components=[{"cut_height_m": 1.5}])
    told = lead.get(f"/api/surveys/{rough.public_id}").json()
    assert (told["ground"], told["components"][0]["cut_height_m"]) == ("rough", 1.5)


def test_it_filters(lead, survey):
    build.SurveyFactory(observed_on="2025-01-01", voided_at="2026-01-01T00:00:00Z")
    site, patch = survey.patch.site.public_id, survey.patch.public_id
    queries = ["voided=true", "voided=false", "observed_from=2026-01-01", f"site={site}", f"patch={patch}"]
    found = [[row["observed_on"] for row in lead.rows(f"/api/surveys?{query}")] for query in queries]
    assert found == [["2025-01-01"], *[["2026-10-12"]] * 4]


def test_it_voids_with_a_reason(desk, survey):
    reply = desk.send(f"/api/surveys/{survey.public_id}/void", {"reason": "Wrong patch."})
    assert (reply.status_code, reply.json()["void_reason"]) == (200, "Wrong patch.")
    assert reply.json()["voided_at"].startswith("2026-12-01")


def test_it_voids_once(desk, survey):
    desk.send(f"/api/surveys/{survey.public_id}/void", {"reason": "Wrong patch."})
    reply = desk.send(f"/api/surveys/{survey.public_id}/void", {"reason": "Again."})
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


def test_it_asks_for_the_reason(desk, survey):
    assert error_fields(desk.send(f"/api/surveys/{survey.public_id}/void")) == ["reason"]


def test_it_keeps_a_survey_that_a_prescription_rests_on(scene):
    survey = scene.world.patch.surveys.get()
    reply = scene.as_("coordinator").send(f"/api/surveys/{survey.public_id}/void", {"reason": "Wrong patch."})
    assert reply.status_code == 409
