"""Work orders as they are read: by whom, and how much of them."""

import pytest

from orders import corrections, flow
from orders.workorders.models import WorkOrder
from tests import build
from tests.api.scene import stated

pytestmark = pytest.mark.django_db


def test_it_lists_all_for_the_office(scene):
    (row,) = scene.as_("coordinator").rows("/api/work-orders")
    assert (row["number"], row["state"], row["crew"]["name"]) == (1, "draft", "Hollow crew")
    assert (row["first_day"], row["last_day"]) == ("2027-02-01", "2027-02-01")


def test_it_shows_an_issued_order_to_its_crew_alone(scene):
    scene.issue()
    seen = {name: len(scene.as_(name).rows("/api/work-orders")) for name in ("lead", "mate", "stranger")}
    assert seen == {"lead": 1, "mate": 1, "stranger": 0}


def test_it_shows_a_draft_to_no_crew(scene):
    assert scene.as_("lead").rows("/api/work-orders") == []
    assert scene.as_("lead").get(scene.address).status_code == 404


def test_it_shows_what_each_visit_serves(scene):
    told = scene.as_("coordinator").get(scene.address).json()
    (visit,) = told["visits"]
    (share,) = visit["shares"]
    assert (visit["day"], visit["state"], share["patch"], share["share"]) == ("2027-02-01", "ordered", "H-01", 1.0)


def test_it_shows_who_pays_to_finance_and_the_coordinator_alone(scene):
    scene.issue()
    shown = {name: "funding" in scene.as_(name).get(scene.address).json() for name in scene.users if name != "stranger"}
    assert {name for name, paid in shown.items() if paid} == {"coordinator", "finance", "administrator"}


def test_it_shows_funding_as_shares(scene):
    (share,) = scene.as_("finance").get(scene.address).json()["funding"]
    assert share == {
        "fund": str(scene.world.fund.public_id),
        "fund_code": "OPS",
        "award": None,
        "share_e4": 10_000,
    }


@pytest.mark.parametrize("name", ["lead", "coordinator"])
def test_it_shows_no_pay_and_no_money(scene, name):
    scene.issue()
    flow.close_order(order=scene.order, statement=stated(scene.order), stamp=scene.stamp("lead"))
    pages = [scene.as_(name).get(f"{scene.address}{part}").content.decode() for part in ("", "/close-outs")]
    assert not any(word in page for page in pages for word in ("rate_e4", "cents", "250000", "12500"))


def test_it_shows_every_revision_of_the_close_out(scene):
    scene.issue()
    flow.close_order(order=scene.order, statement=stated(scene.order, percent=100), stamp=scene.stamp("lead"))
    order = WorkOrder.objects.get(pk=scene.order.pk)
    corrections.amend_close_out(
        order=order, statement=stated(scene.order, percent=80), stamp=scene.stamp(reason="Half the slope was left.")
    )
    told = scene.as_("mate").get(f"{scene.address}/close-outs").json()["results"]
    assert [(row["revision"], row["outcomes"][0]["percent_complete"]) for row in told] == [(1, 100), (2, 80)]
    assert (told[1]["reason"], told[1]["by"]["name"]) == ("Half the slope was left.", "coordinator")
    assert len(told[0]["time_entries"]) == 3


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ("state=draft,issued", 1),
        ("state=closed", 0),
        ("day_from=2027-02-01", 1),
        ("day_from=2027-02-02", 0),
        ("day_to=2027-01-31", 0),
        ("day_to=2027-02-01&day_from=2027-01-01", 1),
    ],
)
def test_it_filters_by_state_and_day(scene, query, count):
    assert len(scene.as_("coordinator").rows(f"/api/work-orders?{query}")) == count


@pytest.mark.parametrize("by", ["site", "crew", "season"])
def test_it_filters_by_what_it_belongs_to(scene, by):
    other = build.WorkOrderFactory(number=77)
    rows = scene.as_("coordinator").rows(f"/api/work-orders?{by}={getattr(other, by).public_id}")
    assert [row["number"] for row in rows] == [77]


def test_it_sorts_both_ways(scene):
    build.WorkOrderFactory(number=77, first_day="2027-01-04")
    caller = scene.as_("coordinator")
    asked = ("number", "-number", "first_day", "-first_day")
    found = [[row["number"] for row in caller.rows(f"/api/work-orders?sort={sort}")] for sort in asked]
    assert found == [[1, 77], [77, 1], [77, 1], [1, 77]]
