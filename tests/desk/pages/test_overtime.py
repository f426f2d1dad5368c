"""The pages of overtime: weeks by person, and one of them opened."""

import pytest
from django.urls import reverse

from tests import build
from tests.costs.weeks import Weeks, newest

pytestmark = pytest.mark.django_db
LIST = reverse("overtime")


@pytest.fixture
def weeks():
    return Weeks()


@pytest.fixture
def desk(client):
    client.force_login(build.UserFactory(username="overtime-finance", roles=["finance"]))
    return client


def _over(weeks, person, minutes=240):
    order = weeks.order()
    weeks.close(order, *((person, day, 480) for day in range(1, 6)), (person, 6, minutes))
    return order


def _page(client, address, **asked):
    page = client.get(address, asked)
    assert page.status_code == 200
    return page.content.decode()


def test_it_lists_weeks_with_their_premium(desk, weeks):
    _over(weeks, weeks.person("R. Teasel"))
    page = _page(desk, LIST)
    assert "R. Teasel" in page
    assert "$40.00" in page


def test_it_says_what_to_do_where_there_is_none(desk):
    assert "Nobody had overtime yet" in _page(desk, LIST)


def test_it_is_narrowed_by_name(desk, weeks):
    _over(weeks, weeks.person("R. Teasel"))
    assert "No week answers this" in _page(desk, LIST, q="Sedge")
    assert "R. Teasel" in _page(desk, LIST, q="teas", week_from="2027-02-07", week_to="2027-02-07")


def test_it_refuses_a_day_that_is_none(desk):
    page = desk.get(LIST, {"week_from": "soon"})
    assert (page.status_code, "week_from" in page.content.decode()) == (400, True)


def test_it_opens_each_line_of_a_week(desk, weeks):
    person = weeks.person("R. Teasel")
    order = _over(weeks, person)
    page = _page(desk, reverse("overtime-week", args=[newest(person).public_id]))
    assert "Premium: half of the regular rate" in page
    assert f"Work order {order.number}" in page
    assert f"No. {order.number}</a>, {order.site.code}" in page
    assert "$40.00" in page


def test_it_shows_earlier_revisions_and_what_was_taken_back(desk, weeks):
    person = weeks.person()
    order = _over(weeks, person)
    first = newest(person)
    weeks.amend(order, (person, 1, 480))
    page = _page(desk, reverse("overtime-week", args=[newest(person).public_id]))
    assert "Nothing of this week is overtime any more" in page
    assert reverse("overtime-week", args=[first.public_id]) in page
    earlier = _page(desk, reverse("overtime-week", args=[first.public_id]))
    assert "replaced" in earlier
    assert "taken back in Feb 2027" in earlier


@pytest.mark.parametrize("role", ["coordinator", "crew_lead", "pesticide_supervisor"])
def test_it_opens_to_finance_alone(client, weeks, role):
    person = weeks.person()
    _over(weeks, person)
    client.force_login(build.UserFactory(username=f"other-{role}", roles=[role]))
    assert client.get(LIST).status_code == 403
    assert client.get(reverse("overtime-week", args=[newest(person).public_id])).status_code == 403
