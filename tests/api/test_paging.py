"""Lists by pages."""

from datetime import date
from urllib.parse import quote

import pytest
from django.core import signing

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


def _visits(count, day=date(2027, 3, 1)):
    season, crew, site = build.SeasonFactory(), build.CrewFactory(), build.SiteFactory()
    return [build.VisitFactory(season=season, crew=crew, site=site, day=day) for _ in range(count)]


@pytest.mark.parametrize("sort", ["day", "-day", "crew", "-site"])
@pytest.mark.parametrize("limit", [1, 3, 7, 8])
def test_it_shows_each_row_once_where_all_sort_alike(desk, sort, limit):
    made = _visits(7)
    rows = desk.rows(f"/api/visits?sort={sort}&limit={limit}")
    assert sorted(row["id"] for row in rows) == sorted(str(visit.public_id) for visit in made)


def test_it_shows_each_row_once_while_others_are_added(desk):
    first = _visits(4, date(2027, 3, 2))
    page = desk.get("/api/visits?limit=2&sort=day").json()
    _visits(3, date(2027, 3, 1))
    later = _visits(2, date(2027, 3, 2))
    rest = desk.rows(page["next"])
    seen = [row["id"] for row in [*page["results"], *rest]]
    assert seen == [str(visit.public_id) for visit in [*first, *later]]


def test_it_keeps_the_filter_and_links_the_next_page(desk):
    _visits(3)
    build.VisitFactory(state="done")
    reply = desk.get("/api/visits?state=planned&limit=2")
    following = reply.json()["next"]
    assert reply.headers["Link"] == f'<{following}>; rel="next"'
    assert "state=planned" in following
    assert "limit=2" in following
    assert len(desk.get(following).json()["results"]) == 1
    assert desk.get(following).json()["next"] is None


def test_it_has_fifty_rows_a_page(desk):
    build.SiteFactory.create_batch(51)
    assert len(desk.get("/api/sites").json()["results"]) == 50
    assert len(desk.get("/api/sites?limit=200").json()["results"]) == 51


OTHER_SALT = signing.dumps(["day", "2027-01-01", 1], salt="another")
TAMPERED = signing.dumps(["day", "2027-01-01", 1], salt="orders.api.paging")[:-2] + "xx"


# named, since what is signed holds the second it was signed in, and two workers must collect the same tests
STRANGE_CURSORS = {
    "short": "x",
    "unsigned": "cD0yMDI3",
    "another salt": OTHER_SALT,
    "tampered": TAMPERED,
    "a zero byte": "%00",
    "not ASCII": "é",
    "long": "a" * 3_000,
}


@pytest.mark.parametrize("cursor", STRANGE_CURSORS.values(), ids=STRANGE_CURSORS.keys())
def test_it_refuses_a_cursor_that_is_none_of_ours(desk, cursor):
    reply = desk.get(f"/api/visits?cursor={quote(cursor, safe='%')}")
    assert (reply.status_code, reply.json()["code"], error_fields(reply)) == (400, "invalid", ["cursor"])


def test_it_refuses_the_cursor_of_another_order(desk):
    _visits(3)
    following = desk.get("/api/visits?limit=2&sort=day").json()["next"]
    reply = desk.get(following.replace("sort=day", "sort=crew"))
    assert (reply.status_code, error_fields(reply)) == (400, ["cursor"])


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("limit=0", "limit"),
        ("limit=201", "limit"),
        ("limit=-1", "limit"),
        ("limit=1e2", "limit"),
        ("limit=%D9%A3", "limit"),
        ("limit=", "limit"),
        ("sort=shape", "sort"),
        ("sort=--day", "sort"),
        ("sort=day&sort=crew", "sort"),
        ("state=planned,tidy", "state"),
        ("state=", "state"),
        ("day_from=2027-1-5", "day_from"),
        ("day_from=20270105", "day_from"),
        ("day_from=0000-01-01", "day_from"),
        ("crew=7", "crew"),
        ("crew=%7B0d1f7a34-6c0c-4f0a-9be1-52d4d1f6a001%7D", "crew"),
        ("color=blue", "color"),
        ("page=2", "page"),
        ("format=csv", "format"),
    ],
)
def test_it_names_what_it_cannot_be_asked(desk, query, field):
    reply = desk.get(f"/api/visits?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


@pytest.mark.parametrize("code", ["a%00b", "%00", "x" * 121])
def test_it_refuses_words_that_cannot_be(desk, code):
    reply = desk.get(f"/api/sites?code={code}")
    assert (reply.status_code, error_fields(reply)) == (400, ["code"])


def test_it_answers_head_as_get_without_a_body(desk):
    _visits(1)
    reply = desk.head("/api/visits")
    assert (reply.status_code, reply.content) == (200, b"")
