"""Rate books: drafted from CSV, put in force, read with every rate."""

import pytest

from orders.estimates.models import RateBook
from tests import build
from tests.api.caller import error_fields
from tests.flow.world import REFERENCE

pytestmark = pytest.mark.django_db
REFERENCE_CSV = (REFERENCE / "rate_book.csv").read_text()


def _body(**more):
    crew = {"standard_crew": {"crew-member": 3}, "skill_roles": {"crew": "crew-member"}}
    return {"name": "Reference", "csv": REFERENCE_CSV, **crew, **more}


def test_it_drafts_from_csv(desk):
    reply = desk.send("/api/rate-books", _body())
    assert (reply.status_code, reply.json()["state"], reply.json()["edition"]) == (201, "draft", 1)
    assert len(reply.json()["rates"]) == len(REFERENCE_CSV.splitlines()) - 1
    assert desk.get(reply.headers["Location"]).json() == reply.json()


def test_it_names_a_row_that_cannot_be_used_and_keeps_nothing(desk):
    reply = desk.send("/api/rate-books", _body(csv=REFERENCE_CSV.replace("hand-pull", "hand-pull", 1) + "rate,x\n"))
    assert reply.status_code == 400
    assert reply.json()["errors"][0]["row"] > 0
    assert RateBook.objects.count() == 0


@pytest.mark.parametrize(
    ("more", "fields"),
    [
        ({"standard_crew": {"crew-member": "3"}}, ["standard_crew.crew-member"]),
        ({"standard_crew": [3]}, ["standard_crew"]),
        ({"csv": ""}, ["csv"]),
        ({"edition": 9}, ["edition"]),
    ],
)
def test_it_names_what_is_wrong(desk, more, fields):
    reply = desk.send("/api/rate-books", _body(**more))
    assert (reply.status_code, error_fields(reply)) == (400, fields)


def test_it_puts_a_draft_in_force_and_retires_the_old_one(desk):
    old = build.RateBookFactory(state="in_force")
    draft = build.RateBookFactory()
    reply = desk.send(f"/api/rate-books/{draft.public_id}/put-in-force", {"from_day": "2027-01-01"})
    assert (reply.status_code, reply.json()["state"], reply.json()["in_force_from"]) == (200, "in_force", "2027-01-01")
    old.refresh_from_db()
    assert old.state == "retired"


def test_it_puts_nothing_else_in_force(desk):
    book = build.RateBookFactory(state="retired")
    reply = desk.send(f"/api/rate-books/{book.public_id}/put-in-force", {"from_day": "2027-01-01"})
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


def test_it_lists_by_state(desk):
    build.RateBookFactory(state="in_force")
    build.RateBookFactory()
    assert [row["state"] for row in desk.rows("/api/rate-books?state=draft")] == ["draft"]
    assert [row["edition"] for row in desk.rows("/api/rate-books?sort=edition")] == sorted(
        RateBook.objects.values_list("edition", flat=True)
    )
