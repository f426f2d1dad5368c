"""Rate books: drafted from CSV, put in force, read with every rate."""

import pytest

from orders.estimates.models import RateBook
from orders.estimates.selectors import rate_book_in_force
from tests import build
from tests.api.caller import error_fields
from tests.estimates.books import changed_rows, draft, line_of, volunteer_book
from tests.flow.world import REFERENCE, csv_rows, prescribed, world_build

pytestmark = pytest.mark.django_db
REFERENCE_CSV = (REFERENCE / "rate_book.csv").read_text()


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def book(world):
    return draft(world)


def _address(book, *parts):
    return "/".join(["/api/rate-books", str(book.public_id), *parts])


def _etag(desk, book):
    return desk.get(_address(book)).headers["ETag"]


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


def test_it_puts_a_draft_in_force_and_retires_the_old_one(desk, world):
    old, new = rate_book_in_force(), draft(world)
    reply = desk.send(f"/api/rate-books/{new.public_id}/put-in-force", {"from_day": "2027-01-01"})
    assert (reply.status_code, reply.json()["state"], reply.json()["in_force_from"]) == (200, "in_force", "2027-01-01")
    old.refresh_from_db()
    assert (old.state, str(old.in_force_until)) == ("retired", "2026-12-31")


def test_it_refuses_a_book_without_rates_for_open_work(desk, world):
    prescribed(world)
    rows = [row for row in csv_rows("rate_book.csv") if row["method"] != "hand-pull"]
    reply = desk.send(f"/api/rate-books/{draft(world, rows).public_id}/put-in-force", {"from_day": "2027-01-01"})
    assert (reply.status_code, reply.json()["code"]) == (409, "book_lacks_methods")
    assert reply.json()["data"]["methods"] == ["hand-pull"]


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


def test_it_lists_by_kind_of_crew(desk, world):
    volunteer_book(world)
    assert [row["name"] for row in desk.rows("/api/rate-books?crew_kind=volunteers")] == ["Volunteers"]


def test_it_copies_a_book_into_a_draft(desk, world):
    reply = desk.send(_address(rate_book_in_force(), "copy"), {"name": "Trial"})
    assert (reply.status_code, reply.json()["name"], reply.json()["state"]) == (201, "Trial", "draft")
    assert desk.get(reply.headers["Location"]).json() == reply.json()


def test_it_edits_what_a_draft_says_of_its_crew(desk, book):
    reply = desk.edit(_address(book), {"standard_crew": {"crew-member": 5}}, etag=_etag(desk, book))
    assert (reply.status_code, reply.json()["standard_crew"], reply.json()["version"]) == (200, {"crew-member": 5}, 2)


def test_it_edits_a_rate_and_needs_the_etag(desk, book):
    line, etag = line_of(book, method="hand-pull", step="search"), _etag(desk, book)
    reply = desk.edit(_address(book, "rates"), {"line": line, "value": "5"}, etag=etag)
    assert (reply.status_code, reply.json()["rates"][line - 1]["value"]) == (200, "5")
    again = desk.edit(_address(book, "rates"), {"line": line, "value": "6"}, etag=etag)
    assert (again.status_code, again.json()["code"]) == (412, "version_mismatch")


def test_it_names_row_and_column_of_an_edit(desk, book):
    line = line_of(book, method="hand-pull", step="search")
    reply = desk.edit(_address(book, "rates"), {"line": line, "unit": "min/stem"}, etag="*")
    error = reply.json()["errors"][0]
    assert (reply.status_code, error["field"], error["row"]) == (400, "unit", line)


def test_it_adds_and_removes_a_rate(desk, book):
    row = {"kind": "allowance", "step": "spare", "value": "1", "source": "invented"}
    added = desk.send(_address(book, "rates"), {**row, "version": 1, "after_line": 0})
    assert (added.status_code, added.json()["rates"][0]["step"]) == (201, "spare")
    gone = desk.send(_address(book, "rates", "remove"), {"version": 2, "line": 1})
    assert (gone.status_code, gone.json()["rates"][0]["step"]) == (200, "search")
    late = desk.send(_address(book, "rates", "remove"), {"version": 2, "line": 1})
    assert (late.status_code, late.json()["code"]) == (412, "version_mismatch")


def test_it_changes_no_book_in_force(desk, world):
    reply = desk.edit(_address(rate_book_in_force(), "rates"), {"line": 1, "value": "5"}, etag="*")
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


def test_it_gives_csv_and_takes_it_back(desk, book):
    text = desk.get(_address(book, "csv"), headers={"Accept": "text/csv"})
    assert text.headers["Content-Type"].startswith("text/csv")
    assert text.content.decode() == desk.get(_address(book, "csv")).json()["csv"]
    changed = text.content.decode().replace("gross_area_m2,,4,h/ha", "gross_area_m2,,5,h/ha", 1)
    reply = desk.edit(_address(book, "csv"), {"csv": changed}, etag=_etag(desk, book), method="put")
    assert (reply.status_code, reply.json()["rates"][0]["value"]) == (200, "5")


def test_it_tells_the_difference_to_another_book(desk, world):
    new = draft(world, changed_rows())
    told = desk.get(_address(rate_book_in_force(), f"difference?to={new.public_id}")).json()
    assert {row["method"] for row in told["rows"]} == {"hand-pull"}
    assert told["rows"][0]["values"] == [{"column": "value", "old": "4", "new": "8"}]


@pytest.mark.parametrize("query", ["", "?to=x", "?other=1"])
def test_it_needs_to_know_what_to_compare_with(desk, book, query):
    assert desk.get(_address(book, f"difference{query}")).status_code == 400


def test_it_tells_the_effect_on_open_work(desk, world):
    prescription = prescribed(world)
    told = desk.get(_address(draft(world, changed_rows()), "effect?on=2026-12-01")).json()
    row = next(row for row in told["rows"] if row["estimate"] == str(prescription.estimate.public_id))
    assert row["new_hours"] > row["old_hours"] == prescription.estimate.hours_likely
    assert told["total"]["new_cents"] == sum(row["new_cents"] for row in told["rows"])
    assert told["new_range"]["low"] < told["new_range"]["high"]


def test_it_warns_and_tells_who_changed_what(desk, world):
    book = draft(world, changed_rows(0.001, method="dig"))
    assert all(row["source"] for row in desk.get(_address(book, "warnings")).json()["warnings"]) is True
    changes = desk.get(_address(book, "changes")).json()["changes"]
    assert [(row["verb"], row["by"]["name"]) for row in changes] == [("rate_book_draft", "coordinator")]


def test_it_discards_a_draft(desk, book):
    assert desk.send(_address(book, "discard")).json()["state"] == "draft"
    assert desk.get(_address(book)).status_code == 404


def test_it_retires_a_book(desk, world):
    reply = desk.send(_address(rate_book_in_force(), "retire"), {"last_day": "2027-02-01"})
    assert (reply.status_code, reply.json()["in_force_until"]) == (200, "2027-02-01")
