"""Effort statements on pages: finance's list, and one's own."""

import html

import pytest

from orders.costs.models import EffortStatement
from orders.costs.services.effort import effort_make
from tests import build
from tests.browser import payroll_pages
from tests.costs.payday import FIRST, LAST, worked

pytestmark = pytest.mark.django_db


@pytest.fixture
def person():
    return build.PersonFactory(name="R. Teasel", user=build.UserFactory(roles=["crew_lead"]))


def shown(client, address):
    reply = client.get(address)
    assert reply.status_code == 200
    return html.unescape(reply.content.decode())


def made(person, stamp):
    build.PayRateFactory(person=person, rate_e4=431_977)
    worked(person)
    return effort_make(person=person, first_day=FIRST, last_day=LAST, stamp=stamp)


def test_it_lists_them_and_names_who_has_none(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    page = shown(client, payroll_pages.statements())
    assert "1 person with paid time: P. Sedge." in page
    assert [word in page for word in ("Confirmed", "To confirm", "1 day without day sheet")] == [True] * 3


def test_it_makes_them_all(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    worked(build.PersonFactory())
    worked(build.PersonFactory())
    days = {"first_day": str(FIRST), "last_day": str(LAST)}
    assert client.post("/money/effort/make/", days).status_code == 302
    assert EffortStatement.objects.count() == 2
    assert client.post("/money/effort/make/", {**days, "last_day": "x"}).status_code == 400
    assert client.post("/money/effort/make/", {**days, "last_day": "2027-01-01"}).status_code == 400


def test_the_person_finds_and_confirms_the_own_one(client, person, stamp):
    statement = made(person, stamp)
    client.force_login(person.user)
    address = f"/effort/{statement.public_id}/"
    assert address in shown(client, "/effort/")
    reply = client.post(address, {"name": "Somebody"})
    assert (reply.status_code, "Type your own name" in reply.content.decode()) == (400, True)
    assert client.post(address, {"name": "R. Teasel"}).status_code == 302
    assert "Confirmed by R. Teasel" in shown(client, address)


def test_it_shows_no_rate_and_no_cost(client, person, stamp):
    statement = made(person, stamp)
    client.force_login(person.user)
    page = shown(client, f"/effort/{statement.public_id}/")
    assert not [word for word in ("$", "43.19", "rate of pay") if word in page]


def test_it_is_hidden_from_others(client, person, stamp):
    statement = made(person, stamp)
    client.force_login(build.PersonFactory(user=build.UserFactory(roles=["crew_lead"])).user)
    assert client.get(f"/effort/{statement.public_id}/").status_code == 404
    assert client.post(f"/effort/{statement.public_id}/", {"name": "R. Teasel"}).status_code == 404
    assert "No statement yet" in shown(client, "/effort/")


def test_it_says_what_was_replaced(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    page = shown(client, payroll_pages.statement_replaced())
    assert ("Replaced: make anew" in page, "<button" in page[page.index("effort-lines") :]) == (True, False)


def test_it_prints_with_a_line_to_sign_on(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    page = shown(client, payroll_pages.statement())
    assert "Signature: ____" in page[page.index('class="only-paper"') :]


def test_all_of_them_are_for_finance(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert client.get("/money/effort/").status_code == 403
    assert client.post("/money/effort/make/").status_code == 403
