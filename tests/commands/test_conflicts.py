"""An order that is not as the tablet knew it: facts are flagged, steps are held."""

import pytest

from orders.commands.conflicts import OrderNotYours, conflicts_flag, others_refuse
from orders.commands.heard import Heard
from orders.field.models import Flag
from tests import build
from tests.commands.sender import HAPPENED

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    """Of the crew that the order belongs to, unless a test says otherwise."""
    return build.UserFactory(username="lead", roles=["crew_lead"])


@pytest.fixture
def order(lead):
    crew = build.CrewMembershipFactory(person=build.PersonFactory(user=lead)).crew
    return build.WorkOrderFactory(crew=crew, state="underway")


def _heard(user, order, **more):
    command = build.CommandFactory(user=user, order=order)
    return Heard(command, user, order, HAPPENED, {}, **more)


def _kinds():
    return sorted(Flag.objects.values_list("kind", flat=True))


def test_it_has_nothing_against_an_order_as_it_should_be(lead, order):
    conflicts_flag(_heard(lead, order))
    others_refuse(_heard(lead, order))
    conflicts_flag(_heard(lead, None))
    assert _kinds() == []


@pytest.mark.parametrize("state", ["draft", "void"])
def test_it_flags_work_on_an_order_that_is_not_to_be_worked_on(lead, order, state):
    order.state = state
    for _ in range(2):
        conflicts_flag(_heard(lead, order))
    assert _kinds() == [f"order_{state}"]


def test_it_flags_more_work_after_somebody_else_closed(lead, order):
    order.state = "closed"
    close_out = build.CloseOutFactory(order=order, by=lead)
    conflicts_flag(_heard(lead, order))
    assert _kinds() == []
    build.CloseOutFactory(order=order, revision=2, amends=close_out, reason="Miscounted.")
    conflicts_flag(_heard(lead, order))
    assert _kinds() == ["order_closed"]


def test_it_flags_facts_and_holds_steps_of_another_crew(order):
    stranger = build.UserFactory(roles=["crew_lead"])
    conflicts_flag(_heard(stranger, order))
    assert _kinds() == ["order_not_yours"]
    with pytest.raises(OrderNotYours):
        others_refuse(_heard(stranger, order))


def test_it_lets_pass_what_the_desk_does_or_decides(order):
    desk = build.UserFactory(roles=["coordinator"])
    others_refuse(_heard(desk, order))
    others_refuse(_heard(build.UserFactory(roles=["crew_lead"]), order, decided_by=desk))
