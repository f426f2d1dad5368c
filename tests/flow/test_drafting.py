"""Orders for planned visits that have none, what keeps an order from being issued, and its instructions."""

from datetime import timedelta

import pytest

from orders import flow
from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.common.models import ChangeAudience
from orders.costs.selectors import order_funding
from orders.issuing import issue_obstacles, orders_draft_missing
from orders.moving import visit_add_by_hand
from orders.workorders.services import MOST_INSTRUCTIONS, order_instruct
from tests import build
from tests.api.scene import scene_build
from tests.flow.world import world_build
from tests.planning.small import MONDAY, asked

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    return scene_build()


def test_it_drafts_one_order_a_crew_site_and_week():
    world = world_build()
    for number, code in enumerate("AB"):
        day = MONDAY + timedelta(days=number)
        visit_add_by_hand(prescription=asked(world, code, 0.4), crew=world.crew, day=day, stamp=world.stamp())
    (order,) = orders_draft_missing(season=world.season, stamp=world.stamp())
    assert (order.state, order.order_visits.count()) == ("draft", 2)
    with pytest.raises(WrongState, match="is on an order"):
        orders_draft_missing(season=world.season, stamp=world.stamp())


def test_it_funds_what_it_drafts_by_a_rule():
    world = world_build()
    rule = build.FundingRuleFactory(site=world.patch.site)
    build.FundingRuleShareFactory(rule=rule, fund=world.fund, share_e4=10_000)
    visit_add_by_hand(prescription=asked(world, "A", 0.4), crew=world.crew, day=MONDAY, stamp=world.stamp())
    (order,) = orders_draft_missing(season=world.season, stamp=world.stamp())
    assert [row.fund for row in order_funding(order)] == [world.fund]


def test_nothing_keeps_an_order_that_can_be_issued(scene):
    assert issue_obstacles(order=scene.order, stamp=scene.stamp()) == []
    flow.issue_order(order=scene.order, stamp=scene.stamp())


def test_it_tells_all_that_keeps_an_order_and_the_issue_says_the_first(scene):
    build.ChecklistQuestionFactory(code="owner", question="Has the owner agreed?")
    scene.order.funding.all().delete()
    found = issue_obstacles(order=scene.order, stamp=scene.stamp())
    assert [one.code for one in found] == ["checklist_open", "invalid"]
    with pytest.raises(type(found[0])) as told:
        flow.issue_order(order=scene.order, stamp=scene.stamp())
    assert told.value.errors == found[0].errors


def test_an_order_that_was_issued_is_not_issued_again(scene):
    scene.issue()
    assert [one.code for one in issue_obstacles(order=scene.order, stamp=scene.stamp())] == ["wrong_state"]


def test_it_tells_the_crew_of_new_instructions_once_the_order_is_issued(scene):
    order_instruct(order=scene.order, instructions=" Park at the barn. ", stamp=scene.stamp())
    assert scene.order.instructions == "Park at the barn."
    told = ChangeAudience.objects.count()
    scene.issue()
    order_instruct(order=scene.order, instructions="Park at the church.", stamp=scene.stamp())
    assert ChangeAudience.objects.count() > told + 1


def test_it_keeps_instructions_of_started_orders_and_refuses_long_or_old_ones(scene):
    with pytest.raises(VersionMismatch):
        order_instruct(order=scene.order, instructions="x", expected=1, stamp=scene.stamp())
    with pytest.raises(Invalid, match="too long"):
        order_instruct(order=scene.order, instructions="x" * (MOST_INSTRUCTIONS + 1), stamp=scene.stamp())
    scene.issue()
    flow.start_order(order=scene.order, stamp=scene.stamp("lead"))
    with pytest.raises(WrongState, match="not started"):
        order_instruct(order=scene.order, instructions="x", stamp=scene.stamp())
