"""Crews and people."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db


def test_it_tells_who_is_on_a_crew_today(lead):
    crew = build.CrewFactory(name="Hollow crew", people=2)
    build.CrewMembershipFactory(crew=crew, last_day=date(2026, 11, 30))
    (row,) = lead.rows("/api/crews")
    assert [member["is_lead"] for member in row["members"]] == [True, False]
    assert (row["hours_a_day"], row["works_weekdays"]) == ("8.00", "1111100")


def test_it_filters_crews(lead):
    build.CrewFactory(name="Old crew", is_active=False)
    build.CrewFactory(name="Hollow crew")
    assert [row["name"] for row in lead.rows("/api/crews?is_active=true")] == ["Hollow crew"]
    assert [row["name"] for row in lead.rows("/api/crews?name=Old%20crew")] == ["Old crew"]


@pytest.fixture
def person():
    person = build.PersonFactory(name="B. Hand", born_on=date(2001, 2, 3), email="b@example.org")
    build.QualificationFactory(person=person, number="KY-77")
    build.PayRateFactory(person=person, rate_e4=268_750)
    return person


def test_it_tells_what_a_person_may_do(lead, person):
    (row,) = lead.rows("/api/people")
    (held,) = row["qualifications"]
    assert (held["kind"], held["jurisdiction"], held["number"]) == ("certified-applicator", "KY", "KY-77")


def test_it_keeps_birthdays_and_addresses_for_the_office(lead, desk, person):
    assert {"born_on", "email"}.isdisjoint(lead.rows("/api/people")[0])
    assert desk.rows("/api/people")[0]["born_on"] == "2001-02-03"


def test_it_shows_both_to_a_lead_who_is_coordinator_too(person):
    both = Caller(build.UserFactory(roles=["crew_lead", "coordinator"]))
    assert both.rows("/api/people")[0]["email"] == "b@example.org"


@pytest.mark.parametrize("name", ["lead", "desk", "finance"])
def test_it_shows_no_pay(request, person, name):
    page = request.getfixturevalue(name).get("/api/people").content.decode()
    assert "268750" not in page
    assert "rate" not in page


def test_it_finds_the_people_of_a_crew(lead, person):
    crew = build.CrewFactory(people=1)
    rows = lead.rows(f"/api/people?crew={crew.public_id}")
    assert [row["id"] for row in rows] == [str(crew.memberships.get().person.public_id)]


def test_it_filters_people(lead, person):
    build.PersonFactory(name="A. Gone", is_active=False, person_type="volunteer")
    assert [row["name"] for row in lead.rows("/api/people?is_active=true")] == ["B. Hand"]
    assert [row["name"] for row in lead.rows("/api/people?person_type=volunteer,contractor")] == ["A. Gone"]
