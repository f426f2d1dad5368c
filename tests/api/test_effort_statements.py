"""Effort statements by the API: one's own, and finance's list."""

import json

import pytest

from tests import build
from tests.api.caller import Caller, error_fields
from tests.costs.payday import DAY, sheet, worked

pytestmark = pytest.mark.django_db
PATH = "/api/effort-statements"
DAYS = {"first_day": "2027-02-07", "last_day": "2027-02-20"}


@pytest.fixture
def person():
    return build.PersonFactory(name="R. Teasel", user=build.UserFactory(roles=["crew_lead"]))


@pytest.fixture
def finance():
    return Caller(build.UserFactory(roles=["finance"]))


@pytest.fixture
def made(person, finance):
    build.PayRateFactory(person=person, rate_e4=431_977)
    worked(person)
    reply = finance.send(PATH, {"person": str(person.public_id), **DAYS})
    assert reply.status_code == 201
    return reply.json()


def test_the_person_reads_and_confirms_the_own_one(person, finance, made):
    own = Caller(person.user)
    assert own.rows(PATH) == [made]
    shown = own.get(f"{PATH}/{made['id']}").json()
    assert (shown["is_out_of_date"], shown["lacking"], shown["minutes"]) == (False, [], 480)
    assert shown["lines"] == [{"fund": None, "award": None, "activity": "orders", "minutes": 480, "share_e4": 10_000}]
    reply = own.send(f"{PATH}/{made['id']}/confirm", {"name": "R. Teasel"})
    assert (reply.status_code, reply.json()["state"]) == (200, "confirmed")


def test_it_shows_no_rate_and_no_cost(person, made):
    told = json.dumps(Caller(person.user).get(f"{PATH}/{made['id']}").json())
    assert not [word for word in ("cents", "rate_e4", "431977", "wage") if word in told]


def test_it_hides_it_from_others(made):
    other = Caller(build.PersonFactory(user=build.UserFactory(roles=["crew_lead"])).user)
    assert other.rows(PATH) == []
    assert other.get(f"{PATH}/{made['id']}").status_code == 404
    assert other.send(f"{PATH}/{made['id']}/confirm", {"name": "R. Teasel"}).status_code == 404


def test_finance_reads_all_and_confirms_none(finance, made):
    assert finance.get(f"{PATH}/{made['id']}").status_code == 200
    assert finance.send(f"{PATH}/{made['id']}/confirm", {"name": "F. Inance"}).status_code == 403


def test_it_refuses_another_name(person, made):
    reply = Caller(person.user).send(f"{PATH}/{made['id']}/confirm", {"name": "Somebody"})
    assert (reply.status_code, error_fields(reply)) == (400, ["name"])


def test_it_says_that_time_has_changed(person, made):
    first = person.day_sheets.get()
    sheet(person, DAY, ("work", 60, build.WorkOrderFactory()), amends=first)
    own = Caller(person.user)
    assert own.get(f"{PATH}/{made['id']}").json()["is_out_of_date"] is True
    assert own.send(f"{PATH}/{made['id']}/confirm", {"name": "R. Teasel"}).status_code == 409


def test_only_finance_makes_them(person, made):
    assert Caller(person.user).send(PATH, {"person": str(person.public_id), **DAYS}).status_code == 403
