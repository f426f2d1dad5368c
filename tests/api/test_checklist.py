"""The checklist of a site."""

import pytest

from orders.common.models import Change
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    build.ChecklistQuestionFactory(code="water", question="What of the creek?", sort=1)
    return build.SiteFactory()


@pytest.fixture
def address(site):
    return f"/api/sites/{site.public_id}/checklist"


def test_it_tells_what_is_open(lead, address):
    (row,) = lead.get(address).json()["questions"]
    assert (row["question"], row["answer"], row["open_because"]) == ("water", None, "Not answered.")


def test_it_takes_an_answer(desk, lead, address):
    reply = desk.send(address, {"question": "water", "answer": "The county says yes."})
    assert (reply.status_code, reply.json()["answered_by"]["name"]) == (201, "desk")
    (row,) = lead.get(address).json()["questions"]
    assert (row["answer"]["answer"], row["open_because"]) == ("The county says yes.", "")
    assert Change.objects.get(verb="checklist_answer").actor == desk.user


def test_it_stays_open_where_the_answer_stops_work(desk, address):
    desk.send(address, {"question": "water", "answer": "Not before June.", "stops_work": True})
    assert desk.get(address).json()["questions"][0]["open_because"] == "Stops work: Not before June."


def test_it_opens_again_when_the_answer_runs_out(desk, address, clock):
    desk.send(address, {"question": "water", "answer": "Yes.", "valid_until": "2027-01-31"})
    assert desk.get(address).json()["questions"][0]["open_because"] == ""
    clock.move_to("2027-02-01T12:00:00+00:00")
    assert desk.get(address).json()["questions"][0]["open_because"].startswith("The answer was good until")


def test_it_knows_no_other_question(desk, address):
    assert desk.send(address, {"question": "weather", "answer": "Fine."}).status_code == 404


@pytest.mark.parametrize(
    ("body", "fields"),
    [
        ({}, ["question", "answer"]),
        ({"question": "water", "answer": "  "}, ["answer"]),
        ({"question": "water", "answer": "Yes.", "valid_until": "2020-01-01"}, ["valid_until"]),
        ({"question": "water", "answer": "Yes.", "stops_work": "no"}, ["stops_work"]),
        ({"question": "water", "answer": "Yes.", "by": "somebody"}, ["by"]),
    ],
)
def test_it_names_what_is_wrong(desk, address, body, fields):
    reply = desk.send(address, body)
    assert (reply.status_code, error_fields(reply)) == (400, fields)
