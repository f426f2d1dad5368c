"""Overtime premiums by person and week, read by finance."""

import pytest

from orders.costs.models import LedgerEntry
from tests import build
from tests.api.caller import Caller
from tests.costs.weeks import Weeks, newest

pytestmark = pytest.mark.django_db
LIST = "/api/workweek-premiums"
FULL = [(day, 480) for day in range(1, 6)]


@pytest.fixture
def finance():
    return Caller(build.UserFactory(username="finance", roles=["finance"]))


@pytest.fixture
def weeks():
    return Weeks()


def _worked(weeks, person, extra, order=None):
    order = order or weeks.order()
    times = [(person, day, minutes) for day, minutes in [*FULL, (6, extra)]]
    verb = weeks.amend if order.close_outs.exists() else weeks.close
    verb(order, *times)
    return order


def test_it_lists_what_stands_of_each_week(finance, weeks):
    person = weeks.person()
    order = _worked(weeks, person, 240)
    _worked(weeks, person, 120, order)
    [row] = finance.rows(LIST)
    assert (row["revision"], row["overtime_minutes"], row["premium_cents"]) == (2, 120, 2000)
    assert (row["week_start"], row["person"]["name"]) == ("2027-02-07", "R. Teasel")


def test_it_is_narrowed_by_person_and_week(finance, weeks):
    person, other = weeks.person(), weeks.person("P. Sedge")
    _worked(weeks, person, 240)
    _worked(weeks, other, 240)
    found = finance.rows(f"{LIST}?person={person.public_id}")
    assert [row["person"]["id"] for row in found] == [str(person.public_id)]
    assert finance.rows(f"{LIST}?week_from=2027-02-08") == finance.rows(f"{LIST}?week_to=2027-02-06") == []


def test_it_opens_each_figure_of_a_week(finance, weeks):
    person = weeks.person()
    order = _worked(weeks, person, 240)
    weeks.sheet(person, 0, ("shop", 60))
    told = finance.get(f"{LIST}/{newest(person).public_id}").json()
    assert told["is_standing"] is True
    assert [revision["revision"] for revision in told["revisions"]] == [2, 1]
    assert {(part["order"], part["code"]) for part in told["parts"]} == {(None, "shop"), (order.number, "work")}
    assert sum(part["cents"] for part in told["parts"]) == told["week"]["premium_cents"] == 5000
    premium = [line["cents"] for line in told["figures"] if line["words"].startswith("Premium")]
    assert sum(premium) == 5000
    rows = LedgerEntry.objects.filter(public_id__in=told["entries"])
    assert sum(row.amount_cents for row in rows) == 5000


def test_it_opens_an_earlier_revision(finance, weeks):
    person = weeks.person()
    _worked(weeks, person, 120, _worked(weeks, person, 240))
    told = finance.get(f"{LIST}/{newest(person).public_id}").json()
    earlier = finance.get(f"{LIST}/{told['revisions'][1]['id']}").json()
    assert (earlier["is_standing"], earlier["week"]["premium_cents"]) == (False, 4000)


def test_it_does_not_know_a_made_up_week(finance):
    reply = finance.get(f"{LIST}/00000000-0000-0000-0000-000000000007")
    assert (reply.status_code, reply.json()["code"]) == (404, "not_found")
