"""People, what they may do, crews, days off, roles and rates: written as the pages write them."""

import pytest

from orders.crews.models import Absence, CrewMembership, Person, Qualification
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


def _etag(caller, address):
    return caller.get(address).headers["ETag"]


def test_it_adds_a_person_and_says_where(desk):
    role, user = build.LaborRoleFactory(), build.UserFactory(username="ada")
    body = {"name": "Ada Fern", "person_type": "staff", "role": role.code, "user": "ada", "born_on": "1990-05-01"}
    reply = desk.send("/api/people", body)
    assert (reply.status_code, reply.json()["role"]) == (201, role.code)
    assert desk.get(reply.headers["Location"]).json() == reply.json()
    assert Person.objects.get().user == user


def test_it_knows_no_other_role_and_no_other_login(desk):
    body = {"name": "Ada", "person_type": "staff", "role": "none"}
    assert desk.send("/api/people", body).status_code == 404
    role = build.LaborRoleFactory()
    assert desk.send("/api/people", {**body, "role": role.code, "user": "nobody"}).status_code == 404


def test_it_edits_the_person_that_was_read(desk):
    person = build.PersonFactory()
    address = f"/api/people/{person.public_id}"
    etag = _etag(desk, address)
    reply = desk.edit(address, {"name": "Ada Oak", "is_active": False}, etag=etag)
    assert (reply.status_code, reply.json()["name"], reply.json()["is_active"]) == (200, "Ada Oak", False)
    assert desk.edit(address, {"name": "Other"}, etag=etag).status_code == 412


def test_it_keeps_the_birthday_from_leads(lead):
    person = build.PersonFactory(born_on="1990-05-01")
    assert "born_on" not in lead.get(f"/api/people/{person.public_id}").json()


def test_it_records_a_license_with_its_place_and_supervisor(desk):
    person, boss = build.PersonFactory(), build.PersonFactory()
    kind, place = build.QualificationKindFactory(), build.JurisdictionFactory()
    address = f"/api/people/{person.public_id}/qualifications"
    body = {"kind": kind.code, "first_day": "2026-01-01", "last_day": "2027-01-01"}
    assert error_fields(desk.send(address, body)) == ["jurisdiction"]
    body |= {"jurisdiction": place.code, "supervised_by": str(boss.public_id)}
    reply = desk.send(address, body)
    assert reply.status_code == 201
    assert Qualification.objects.get().supervised_by == boss
    where = reply.headers["Location"]
    itself = {"supervised_by": str(person.public_id)}
    assert error_fields(desk.edit(where, itself, etag=_etag(desk, where))) == ["supervised_by"]
    ended = desk.edit(where, {"last_day": "2026-06-30"}, etag=_etag(desk, where))
    assert ended.json()["last_day"] == "2026-06-30"


def test_it_edits_rows_without_a_version_by_what_was_read(desk):
    kind = build.QualificationKindFactory(code="first-aid", is_license=False)
    address = f"/api/qualification-kinds/{kind.public_id}"
    etag = _etag(desk, address)
    assert desk.edit(address, {"name": "Wilderness first aid"}, etag=etag).status_code == 200
    assert desk.edit(address, {"name": "Other"}, etag=etag).status_code == 412


def test_it_adds_a_crew_and_changes_its_days(desk):
    reply = desk.send("/api/crews", {"name": "Hollow", "hours_a_day": "10", "works_weekdays": "1111000"})
    assert (reply.status_code, reply.json()["members"]) == (201, [])
    address = reply.headers["Location"]
    wrong = desk.edit(address, {"works_weekdays": "0000000"}, etag=_etag(desk, address))
    assert error_fields(wrong) == ["works_weekdays"]
    assert desk.edit(address, {"works_weekdays": "1111100"}, etag=_etag(desk, address)).status_code == 200


def test_it_puts_people_on_a_crew_once(desk):
    crew, person = build.CrewFactory(), build.PersonFactory()
    body = {"crew": str(crew.public_id), "person": str(person.public_id), "first_day": "2026-01-01"}
    reply = desk.send("/api/crew-members", body)
    assert reply.status_code == 201
    assert error_fields(desk.send("/api/crew-members", body)) == ["person"]
    address = reply.headers["Location"]
    assert desk.edit(address, {"last_day": "2026-06-30"}, etag=_etag(desk, address)).json()["last_day"] == "2026-06-30"
    assert desk.rows(f"/api/crew-members?person={person.public_id}")[0]["crew"]["name"] == crew.name


def test_it_changes_the_lead_from_a_day_on(desk):
    crew = build.CrewFactory(people=2)
    second = crew.memberships.get(is_lead=False).person
    body = {"person": str(second.public_id), "from_day": "2026-11-01"}
    reply = desk.send(f"/api/crews/{crew.public_id}/lead", body)
    assert [member["person"]["name"] for member in reply.json()["members"] if member["is_lead"]] == [second.name]
    assert CrewMembership.objects.filter(crew=crew).count() == 4
    other = {"person": str(build.PersonFactory().public_id), "from_day": "2026-11-01"}
    assert error_fields(desk.send(f"/api/crews/{crew.public_id}/lead", other)) == ["person"]


def test_it_adds_corrects_and_removes_days_off(desk):
    person = build.PersonFactory()
    body = {"person": str(person.public_id), "first_day": "2027-03-02", "last_day": "2027-03-03", "why": "Leave"}
    reply = desk.send("/api/absences", body)
    address = reply.headers["Location"]
    assert desk.edit(address, {"last_day": "2027-03-04"}, etag=_etag(desk, address)).json()["last_day"] == "2027-03-04"
    assert len(desk.rows("/api/absences?from_day=2027-03-04")) == 1
    assert desk.rows("/api/absences?from_day=2027-03-05") == []
    assert desk.send(f"{address}/remove").status_code == 200
    assert not Absence.objects.exists()


def test_it_takes_days_off_of_one_alone(desk):
    reply = desk.send("/api/absences", {"first_day": "2027-03-02", "last_day": "2027-03-03", "why": "Leave"})
    assert error_fields(reply) == ["person"]


def test_it_sets_a_standard_rate_once_a_day(desk, finance):
    role = build.LaborRoleFactory()
    body = {"role": role.code, "from_day": "2027-01-01", "rate_e4": 315_000, "source": "Payroll"}
    assert finance.send("/api/standard-rates", body).status_code == 201
    assert desk.send("/api/standard-rates", body).status_code == 400
    assert [row["rate_e4"] for row in desk.rows(f"/api/standard-rates?role={role.code}")] == [315_000]


def test_it_names_roles(desk):
    reply = desk.send("/api/labor-roles", {"code": "sawyer", "name": "Sawyer"})
    address = reply.headers["Location"]
    assert desk.edit(address, {"name": "Saw hand"}, etag=_etag(desk, address)).json()["name"] == "Saw hand"
