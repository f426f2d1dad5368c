"""An order that was void stands again, because its crew worked on it before it heard."""

import pytest

from orders import corrections, flow
from orders.common.errors import Invalid, WrongState
from orders.costs.models import Commitment
from orders.costs.selectors import commitments_standing
from orders.workorders.models import CloseOut
from orders.workorders.restoring import WorkTaken
from orders.workorders.selectors import order_prescriptions, order_visits
from tests import build
from tests.api.scene import scene_build, stated

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    made = scene_build()
    made.issue()
    return made


def _void(scene):
    return corrections.void_order(order=scene.order, stamp=scene.stamp(reason="Not needed."))


def _restore(scene, reason="The crew had been there."):
    return corrections.restore_order(order=scene.order, stamp=scene.stamp(reason=reason))


def _planned(order):
    return sum(row.amount_cents for row in commitments_standing(order))


def test_it_stands_as_it_did(scene):
    planned = _planned(scene.order)
    _void(scene)
    assert _planned(scene.order) == 0
    _restore(scene)
    assert (scene.order.state, scene.order.void_reason) == ("issued", "")
    assert {visit.state for visit in order_visits(scene.order)} == {"ordered"}
    assert {asked.state for asked in order_prescriptions(scene.order)} == {"ordered"}
    assert _planned(scene.order) == planned > 0
    assert sum(Commitment.objects.values_list("amount_cents", flat=True)) == planned


def test_it_is_underway_again_where_it_had_been_started(scene):
    flow.start_order(order=scene.order, stamp=scene.stamp("lead"))
    _void(scene)
    assert _restore(scene).state == "underway"


def test_it_can_be_void_and_stand_again_more_than_once(scene):
    planned = _planned(scene.order)
    for _ in range(3):
        _void(scene)
        _restore(scene)
    assert _planned(scene.order) == planned
    _void(scene)
    assert _planned(scene.order) == 0


def test_it_can_be_closed_then(scene):
    _void(scene)
    _restore(scene)
    flow.close_order(order=scene.order, statement=stated(scene.order), stamp=scene.stamp("lead"))
    assert CloseOut.objects.get().order == scene.order


def test_it_does_not_stand_twice(scene):
    """Its work was planned anew meanwhile."""
    _void(scene)
    build.VisitFactory(
        season=scene.world.season, site=scene.order.site, crew=scene.world.crew, prescriptions=[scene.prescription]
    )
    with pytest.raises(WorkTaken):
        _restore(scene)
    assert scene.order.state == "void"


def test_it_needs_a_reason_and_a_void_order_that_was_issued(scene):
    with pytest.raises(WrongState):
        _restore(scene)
    _void(scene)
    with pytest.raises(Invalid):
        _restore(scene, reason="")
    build.WorkOrderFactory._meta.model.objects.update(issued_at=None)
    scene.order.refresh_from_db()
    with pytest.raises(WrongState):
        _restore(scene)
