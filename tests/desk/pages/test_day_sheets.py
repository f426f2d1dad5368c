"""Day sheets of a day: totals by code, who is missing, and where close-outs say otherwise."""

import html

import pytest

from tests import build
from tests.api.scene import lead_of
from tests.browser.field_pages import day_sheets

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, address):
    return html.unescape(client.get(address).content.decode())


def row(page, name):
    found = page[page.index(f'<th scope="row">{name}<') :]
    return found[: found.index("</tr>")]


def test_it_compares_each_day_with_the_close_outs(desk):
    page = shown(desk, day_sheets())
    assert [word in row(page, "R. Teasel") for word in ("8 h<", "6 h 30 min", "4 h 30 min", "2 h<")] == [True] * 4
    assert ">none<" in row(page, "P. Sedge")


def test_it_names_who_has_none(desk):
    assert "Without a day sheet: A. Larkspur." in shown(desk, day_sheets())


def test_it_shows_what_stands(desk):
    first = build.DaySheetFactory(person=build.PersonFactory(name="R. Teasel"))
    build.DaySheetFactory(crew=first.crew, person=first.person, revision=2, amends=first, reason="Shop came later")
    page = shown(desk, "/day-sheets/?day=2027-02-10")
    assert (page.count("R. Teasel"), "revision 2: Shop came later" in page) == (1, True)


def test_it_shows_a_lead_own_crews(client):
    own, other = build.DaySheetFactory(), build.DaySheetFactory()
    client.force_login(lead_of(own.crew, "own"))
    page = shown(client, "/day-sheets/?day=2027-02-10")
    assert (own.person.name in page, other.person.name in page) == (True, False)


def test_it_refuses_what_is_no_day(desk):
    assert desk.get("/day-sheets/?day=soon").status_code == 400
