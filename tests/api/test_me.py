"""Who is asking."""

import pytest

from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db


def test_it_tells_name_and_roles():
    user = build.UserFactory(username="ana", first_name="Ana", last_name="Invented", roles=["coordinator", "finance"])
    told = Caller(user).get("/api/me").json()
    assert (told["name"], told["roles"], told["crews"]) == ("Ana Invented", ["coordinator", "finance"], [])


def test_it_tells_the_crews_of_today(scene):
    crew = scene.world.crew
    told = scene.as_("mate").get("/api/me").json()
    assert told["crews"] == [{"id": str(crew.public_id), "name": "Hollow crew", "is_lead": True}]


def test_it_tells_no_crew_that_was_left(scene):
    scene.users["mate"].person.memberships.update(last_day="2026-11-30")
    assert scene.as_("mate").get("/api/me").json()["crews"] == []


def test_it_is_open_to_a_user_without_a_role():
    assert Caller(build.UserFactory()).get("/api/me").json()["roles"] == []
