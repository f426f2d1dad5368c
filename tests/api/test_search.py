"""The search over the API: the same groups as the page, in the reader's scope."""

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def patch(db):
    return build.PatchFactory(site=build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow"), code="HO-04")


def _groups(caller, query):
    return {group["kind"]: group["hits"] for group in caller.get(f"/api/search?{query}").json()["groups"]}


def test_it_groups_what_it_finds_by_kind(desk, patch):
    found = _groups(desk, "q=hollow")
    assert [hit["id"] for hit in found["patch"]] == [str(patch.public_id)]
    assert [hit["words"] for hit in found["site"]] == ["Ketterfold Hollow"]


def test_it_takes_one_kind(desk, patch):
    assert set(_groups(desk, "q=hollow&kind=site")) == {"site"}


def test_it_leaves_out_what_the_role_does_not_open(lead, patch):
    assert set(_groups(lead, "q=hollow")) == {"site"}


@pytest.mark.parametrize(("query", "field"), [("", "q"), ("q=a&kind=secret", "kind"), (f"q={'x' * 101}", "q")])
def test_it_names_what_is_wrong(desk, query, field):
    reply = desk.get(f"/api/search?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [field])
