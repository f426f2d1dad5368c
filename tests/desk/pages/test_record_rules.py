"""Rules on pages: compared, reviewed by the supervisor, followed by another."""

from datetime import date

import pytest

from orders.workorders.models import RecordProfile
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def supervisor(db):
    return build.UserFactory(roles=["pesticide_supervisor"], first_name="Pia", last_name="Rowan")


@pytest.fixture
def ohio():
    return RecordProfile.objects.get(jurisdiction="OH")


def shown(client, user, address="/records/rules/"):
    client.force_login(user)
    return " ".join(client.get(address).content.decode().split())


def form(ohio, **changed):
    names = ("jurisdiction", "scope", "counts", "days", "keep_years", "required", "if_applicable", "produce")
    told = {name: getattr(ohio, name) for name in (*names, "least_age", "source", "not_found")}
    return {**told, "volunteer_signal_words": "", "first_day": "2027-01-01", **changed}


def test_it_compares_the_rules_in_force_and_says_which_are_not_reviewed(client, coordinator):
    page = shown(client, coordinator)
    assert "In force: 10" in page
    assert "10 of 10 in force are not reviewed yet" in page
    assert "I have reviewed" not in page
    language = page[page.index("Language of the record") :]
    assert language[: language.index("</tr>")].count("<strong>required</strong>") == 1


def test_it_puts_the_supervisors_name_on_a_review(client, supervisor, ohio):
    client.force_login(supervisor)
    address = f"/records/rules/{ohio.public_id}/"
    assert client.post(f"{address}review/", {"version": 1}).status_code == 302
    assert "Pia Rowan" in shown(client, supervisor, address)
    assert client.post(f"{address}review/", {"version": 1}).status_code == 412


def test_it_puts_another_rule_in_force_from_a_day_on(client, supervisor, ohio):
    client.force_login(supervisor)
    reply = client.post(f"/records/rules/{ohio.public_id}/", form(ohio, keep_years=5))
    made = RecordProfile.objects.get(jurisdiction="OH", first_day=date(2027, 1, 1))
    assert (reply.status_code, made.keep_years, made.required) == (302, 5, ohio.required)


def test_it_shows_what_is_wrong_with_a_rule(client, supervisor, ohio):
    client.force_login(supervisor)
    reply = client.post(f"/records/rules/{ohio.public_id}/", form(ohio, days=3))
    assert reply.status_code == 400
    assert "The day of the use counts no days." in reply.content.decode()


@pytest.mark.parametrize("role", ["coordinator", "administrator", "crew_lead"])
def test_it_is_the_supervisors_to_change(client, ohio, role):
    client.force_login(build.UserFactory(roles=[role]))
    address = f"/records/rules/{ohio.public_id}/"
    assert client.get(address).status_code == 200
    assert client.post(address, form(ohio)).status_code == 403
    assert client.post(f"{address}review/", {"version": 1}).status_code == 403
