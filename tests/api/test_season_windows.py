"""The windows of a season: by patch and method, narrowed, sorted, a page at a time."""

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.common.models import User
from tests import build
from tests.api.caller import error_fields
from tests.planning.choices import ground_build, wide_survey

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


@pytest.fixture
def path(ground):
    return f"/api/seasons/{ground.world.season.public_id}/windows"


def test_it_tells_why_a_window_opens_and_closes(desk, ground, path):
    told = desk.get(f"{path}?method=dormant-foliar").json()
    assert told["rows"] == len(told["results"]) == 2
    row = told["results"][0]
    assert row["is_recommended"]
    assert "natives are out of leaf" in row["windows"][0]["opens_because"]
    assert row["conditions"]


def test_it_tells_of_every_method_where_asked(desk, path):
    used, every = (desk.get(f"{path}?shown={word}").json()["rows"] for word in ("used", "all"))
    assert used < every


@pytest.mark.parametrize(
    ("query", "count"),
    [("species=EUFO&method=dormant-foliar", 2), ("species=NONE", 0), ("text=out+of+leaf", 2), ("is_open=no", 0)],
)
def test_it_narrows(desk, path, query, count):
    assert desk.get(f"{path}?{query}").json()["rows"] == count


def test_it_turns_pages(desk, path):
    first = desk.get(f"{path}?limit=1&sort=-patch").json()
    second = desk.get(f"{path}?limit=1&sort=-patch&page=2").json()
    assert (first["page"], second["page"], first["pages"]) == (1, 2, first["rows"])
    assert first["results"][0]["patch"]["id"] != second["results"][0]["patch"]["id"]


@pytest.mark.parametrize(
    ("query", "field"), [("shown=most", "shown"), ("sort=size", "sort"), ("page=0", "page"), ("limit=9999", "limit")]
)
def test_it_names_what_it_cannot_be_asked(desk, path, query, field):
    reply = desk.get(f"{path}?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_asks_as_often_for_many_patches_as_for_few(desk, ground, path):
    counts = []
    for _ in range(2):
        desk.force_authenticate(User.objects.get(pk=desk.user.pk))  # roles are read once an instance
        cache.clear()  # and nothing is kept of the patches before
        with CaptureQueriesContext(connection) as asked:
            assert desk.get(path).status_code == 200
        counts.append(len(asked))
        for _ in range(4):
            wide_survey(build.PatchFactory(site=ground.wide.site))
    assert counts[0] == counts[1]
