"""The page of the search, and the short list under the field in the head."""

import pytest

from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def patches(db):
    site = build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")
    return build.PatchFactory.create_batch(12, site=site)


def test_it_leads_to_what_it_finds(desk, patches):
    page = desk.get("/search/?q=ketterfold").content.decode()
    assert f"/patches/{patches[0].public_id}/" in page
    assert f"/sites/{patches[0].site.public_id}/" in page


def test_it_finds_pages_by_their_words(desk):
    page = desk.get("/search/?q=rate+bo").content.decode()
    assert 'href="/rate-books/"' in page


def test_it_shows_more_of_one_kind_when_asked(desk, patches):
    first = desk.get("/search/?q=hollow").context["parts"]
    part = next(part for part in first if part.words == "Patches")
    assert (len(part.lines), part.code) == (8, "patch")
    more = desk.get("/search/?q=hollow&kind=patch").context["parts"]
    assert [len(part.lines) for part in more] == [12]


def test_it_says_so_where_nothing_is_found(desk):
    assert "Nothing holds “xyzzy”" in desk.get("/search/?q=xyzzy").content.decode()


def test_it_suggests_a_few_of_each_from_two_letters_on(desk, patches):
    assert desk.get("/search/suggested/?q=h").context["parts"] == []
    parts = desk.get("/search/suggested/?q=ho").context["parts"]
    assert max(len(part.lines) for part in parts) == 3


def test_the_head_of_every_page_holds_the_field(desk):
    assert 'id="head-search"' in desk.get("/sites/").content.decode()


def test_it_asks_for_a_login(client):
    assert client.get("/search/?q=a").status_code == 302
