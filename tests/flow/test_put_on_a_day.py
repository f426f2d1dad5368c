"""Work that is asked for put on a day by hand, a visit taken off its day, and put back."""

from datetime import timedelta

import pytest

from orders import flow
from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.moving import visit_add_breaks, visit_add_by_hand, visit_put_back, visit_take_off
from orders.planning.models import Prescription, Visit
from orders.planning.moving import MoveBreaks
from orders.planning.selectors import share_unplanned
from orders.workorders.models import WorkOrder
from tests import build
from tests.flow.world import world_build
from tests.planning.small import MONDAY, accepted, asked, other_crew, planned

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + timedelta(days=1)
SATURDAY = MONDAY + timedelta(days=5)


@pytest.fixture
def world():
    return world_build()


def _add(world, work, day=TUESDAY, crew=None, reason=""):
    stamp = world.stamp(reason=reason)
    return visit_add_by_hand(prescription=work, crew=crew or world.crew, day=day, stamp=stamp)


def _state(work):
    return Prescription.objects.get(pk=work.pk).state


def test_it_puts_work_on_a_day_where_plans_leave_it(world):
    work = asked(world, "A", 0.5)
    visit = _add(world, work)
    assert (visit.day, visit.crew, visit.state, visit.is_kept) == (TUESDAY, world.crew, "planned", True)
    assert visit.because == ["Put there by hand by coordinator."]
    assert share_unplanned(work) == pytest.approx(0)
    assert _state(work) == "planned"
    run = planned(world)
    flow.accept_plan(run=run, stamp=world.stamp())
    visit.refresh_from_db()
    assert (visit.state, visit.day) == ("planned", TUESDAY)


def test_it_puts_a_days_piece_of_long_work_there_and_leaves_the_rest_asked_for(world):
    work = asked(world, "A", 2.5)
    visit = _add(world, work)
    share = visit.shares.get().share
    assert 0.2 < share < 0.5
    assert share_unplanned(work) == pytest.approx(1 - share)


def test_it_tells_what_it_would_break_and_stores_nothing(world):
    work = asked(world, "A", 0.5)
    placed = visit_add_breaks(prescription=work, crew=world.crew, day=SATURDAY)
    assert [(one.kind, one.is_hard) for one in placed.breaks] == [("window", False), ("day off", False)]
    assert not Visit.objects.exists()


def test_it_wants_a_reason_for_what_breaks_and_keeps_it(world):
    work = asked(world, "A", 0.5)
    with pytest.raises(Invalid, match="outside its window"):
        _add(world, work, SATURDAY)
    visit = _add(world, work, SATURDAY, reason="The owner is there on Saturday only.")
    assert "The owner is there on Saturday only. It breaks (window)" in visit.because[0]
    assert len((Change.objects.get(verb="visit_add").after or {})["breaks"]) == 2


def test_it_never_passes_a_license_or_a_closed_site(world):
    kind = build.QualificationKindFactory(code="saw", name="a sawyer")
    work = asked(world, "A", 0.5, method=build.MethodFactory(code="fell", qualification=kind))
    with pytest.raises(MoveBreaks, match="lacks"):
        _add(world, work, reason="All the same.")
    build.ClosureFactory(site=world.patch.site, first_day=TUESDAY, last_day=TUESDAY)
    with pytest.raises(MoveBreaks, match="closed"):
        _add(world, asked(world, "B", 0.5), reason="All the same.")


def test_it_tells_hours_over_what_stands_there(world):
    _add(world, asked(world, "A", 0.6))
    placed = visit_add_breaks(prescription=asked(world, "B", 0.6), crew=world.crew, day=TUESDAY)
    assert [one.kind for one in placed.breaks] == ["hours"]


def test_it_puts_nothing_there_twice(world):
    work = asked(world, "A", 0.5)
    _add(world, work)
    with pytest.raises(WrongState, match="has its visits already"):
        _add(world, work)


def test_it_takes_a_visit_off_and_asks_for_its_work_again(world):
    work = asked(world, "A", 0.5)
    visit = visit_take_off(visit=_add(world, work), stamp=world.stamp())
    assert (visit.state, _state(work), share_unplanned(work)) == ("dropped", "open", 1.0)


def test_it_puts_a_visit_back_unless_its_work_is_planned_otherwise(world):
    work = asked(world, "A", 0.5)
    off = visit_take_off(visit=_add(world, work), stamp=world.stamp())
    back = visit_put_back(visit=off, stamp=world.stamp())
    assert (back.state, back.day, _state(work)) == ("planned", TUESDAY, "planned")
    visit_take_off(visit=back, stamp=world.stamp())
    _add(world, work, MONDAY)
    with pytest.raises(WrongState, match="planned or done otherwise"):
        visit_put_back(visit=Visit.objects.get(pk=back.pk), stamp=world.stamp())


def test_it_wants_a_reason_where_the_visit_is_on_an_order_and_voids_an_empty_one(world):
    asked(world, "A", 0.9)
    (order,) = accepted(world)
    visit = order.order_visits.get().visit
    with pytest.raises(Invalid, match="Say why"):
        visit_take_off(visit=visit, stamp=world.stamp())
    visit_take_off(visit=Visit.objects.get(pk=visit.pk), stamp=world.stamp(reason="The bridge is out."))
    assert WorkOrder.objects.get().state == "void"


def test_it_leaves_visits_of_started_orders_where_they_are(world):
    asked(world, "A", 0.9)
    (order,) = accepted(world)
    WorkOrder.objects.update(state="underway")
    with pytest.raises(WrongState, match="call the visit off"):
        visit_take_off(visit=order.order_visits.get().visit, stamp=world.stamp(reason="Rain."))


def test_it_asks_another_crew_as_well(world):
    ridge = other_crew()
    assert _add(world, asked(world, "A", 0.5), crew=ridge).crew == ridge
