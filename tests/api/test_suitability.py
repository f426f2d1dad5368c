"""Which methods suit a patch, and why."""

import pytest

from tests import build

pytestmark = pytest.mark.django_db


def test_it_gives_a_verdict_with_its_reasons(scene):
    told = scene.as_("coordinator").get(f"/api/patches/{scene.world.patch.public_id}/suitability").json()
    assert told["recommended"] == "hand-pull"
    assert set(told["methods"].values()) <= {"yes", "no", "unknown"}
    reasons = [method["reasons"] for method in told["components"][0]["methods"]]
    assert all(reason["text"] and reason["source"] for found in reasons for reason in found)


def test_it_names_the_survey_that_it_rests_on(scene):
    survey = scene.world.patch.surveys.get()
    told = scene.as_("coordinator").get(f"/api/patches/{scene.world.patch.public_id}/suitability").json()
    assert told["survey"] == str(survey.public_id)


def test_it_has_nothing_to_say_of_a_patch_without_a_survey(desk):
    reply = desk.get(f"/api/patches/{build.PatchFactory().public_id}/suitability")
    assert (reply.status_code, reply.json()["detail"]) == (404, "The patch has no survey that counts.")
