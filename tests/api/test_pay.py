"""Rates of pay, comp time and match over the API: finance's alone."""

import pytest

from orders.common.models import Change
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db
DAY = {"from_day": "2027-01-01"}
LISTS = ["pay-rates", "pay-policies", "overtime-rules", "comp-time-agreements", "match-rates"]


@pytest.mark.parametrize("role", ["coordinator", "crew_lead", "pesticide_supervisor"])
@pytest.mark.parametrize("name", LISTS)
def test_it_shows_pay_to_finance_alone(role, name):
    caller = Caller(build.UserFactory(roles=[role]))
    assert (caller.get(f"/api/{name}").status_code, caller.send(f"/api/{name}").status_code) == (403, 403)


def test_it_sets_what_a_person_costs(finance):
    person = build.PersonFactory(name="B. Hand")
    body = {"person": str(person.public_id), "rate_e4": 268_750, **DAY}
    assert finance.send("/api/pay-rates", body).status_code == 201
    (row,) = finance.rows(f"/api/pay-rates?person={person.public_id}")
    assert (row["person"]["name"], row["rate_e4"], row["role"]) == ("B. Hand", 268_750, None)


def test_it_figures_a_rate_from_a_wage(finance):
    role = build.LaborRoleFactory(code="trainer")
    body = {"person": str(build.PersonFactory().public_id), "role": role.code, **DAY}
    loaded = {"wage_e4": 282_000, "fringe_e4": 2_500, "yearly_cents": 426_000, "productive_hours": 1_800}
    reply = finance.send("/api/pay-rates", {**body, **loaded})
    assert (reply.status_code, reply.json()["rate_e4"], reply.json()["role"]) == (201, 431_000, "trainer")
    assert len(finance.rows("/api/pay-rates?role=trainer")) == 1


def test_it_names_a_role_that_is_not_there(finance):
    body = {"person": str(build.PersonFactory().public_id), "role": "none", "rate_e4": 1, **DAY}
    assert finance.send("/api/pay-rates", body).status_code == 404


def test_it_never_records_the_rate_in_the_feed(finance):
    finance.send("/api/pay-rates", {"person": str(build.PersonFactory().public_id), "rate_e4": 268_751, **DAY})
    assert "268751" not in str(Change.objects.get(verb="pay_rate_set").after)


def test_it_agrees_on_time_off_and_ends_it(finance):
    build.PayPolicyFactory(comp_time=True)
    person = build.PersonFactory()
    body = {"person": str(person.public_id), "first_day": "2027-01-03", "reference": "Letter"}
    made = finance.send("/api/comp-time-agreements", body)
    assert (made.status_code, made.json()["last_day"]) == (201, None)
    address = f"/api/comp-time-agreements/{made.json()['id']}/end"
    assert finance.send(address, {"last_day": "2027-06-26"}).json()["last_day"] == "2027-06-26"
    assert finance.send(address, {"last_day": "2027-07-03"}).status_code == 409


def test_it_refuses_time_off_that_the_policy_does_not_allow(finance):
    body = {"person": str(build.PersonFactory().public_id), "first_day": "2027-01-03", "reference": "Letter"}
    assert error_fields(finance.send("/api/comp-time-agreements", body)) == ["first_day"]


def test_it_sets_what_a_volunteers_hour_counts(finance):
    role = build.LaborRoleFactory(code="helper")
    body = {"person_type": "volunteer", "role": role.code, "rate_e4": 172_500, "fringe_e4": 900, "source": "Our pay"}
    assert finance.send("/api/match-rates", {**body, **DAY}).status_code == 201
    (row,) = finance.rows("/api/match-rates?role=helper&person_type=volunteer")
    assert (row["rate_e4"], row["source"]) == (172_500, "Our pay")
