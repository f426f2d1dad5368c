"""A visit moved by hand: what it breaks is told at once, its order follows, and plans may be told to leave it there."""

from datetime import date, timedelta

import pytest

from orders import flow
from orders.common.errors import Invalid, WrongState
from orders.common.models import Change, ChangeAudience
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.planning.models import Visit
from orders.planning.moving import MoveBreaks
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visits
from tests import build
from tests.flow.world import world_build
from tests.planning.small import FRIDAY, MONDAY, accepted, asked, other_crew, replanned

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + timedelta(days=1)
SATURDAY = MONDAY + timedelta(days=5)


@pytest.fixture
def world():
    return world_build()


def _order(world, codes="A", crew_days=0.9, **facts):
    for number, code in enumerate(codes):
        asked(world, code, crew_days, **{"first_day": MONDAY + timedelta(days=number), "last_day": FRIDAY, **facts})
    (order,) = accepted(world)
    return order


def _issue(world, order):
    order_fund(order=order, shares=[Payer(fund=world.fund, award=None, share_e4=10_000)], stamp=world.stamp())
    return flow.issue_order(order=order, stamp=world.stamp())


def _first(order):
    return order_visits(order)[0]


def _kinds(visit, crew, day):
    return [(one.kind, one.is_hard) for one in flow.move_preview(visit=visit, crew=crew, day=day)]


def _move(world, visit, day, crew=None, *, keep=False, reason=""):
    crew = crew or world.crew
    return flow.move_visit(visit=visit, crew=crew, day=day, keep=keep, stamp=world.stamp(reason=reason))


def test_it_moves_a_visit_that_breaks_nothing_and_its_order_with_it(world):
    order = _order(world)
    visit = _first(order)
    assert _kinds(visit, world.crew, TUESDAY) == []
    moved = _move(world, visit, TUESDAY)
    order.refresh_from_db()
    assert (moved.day, moved.state, order.first_day, order.last_day) == (TUESDAY, "ordered", TUESDAY, TUESDAY)
    assert not moved.is_kept
    assert moved.because == ["Moved by hand from Hollow crew on 2027-03-01 by coordinator."]


def test_it_stores_nothing_for_a_preview(world):
    visit = _first(_order(world))
    changes = Change.objects.count()
    _kinds(visit, world.crew, SATURDAY)
    visit.refresh_from_db()
    assert (visit.day, Change.objects.count()) == (MONDAY, changes)


def test_it_wants_a_reason_for_what_breaks_and_keeps_it_in_the_record(world):
    visit = _first(_order(world))
    assert _kinds(visit, world.crew, SATURDAY) == [("window", False), ("day off", False)]
    with pytest.raises(Invalid, match="outside its window"):
        _move(world, visit, SATURDAY)
    _move(world, visit, SATURDAY, reason="The owner is there on Saturday only.")
    record = Change.objects.filter(verb="visit_move").latest("id")
    assert record.reason == "The owner is there on Saturday only."
    assert len((record.after or {})["breaks"]) == 2


def test_it_says_of_a_moved_visit_who_moved_it_from_where_and_what_it_breaks(world):
    visit = _first(_order(world))
    moved = _move(world, visit, SATURDAY, reason="The owner is there on Saturday only.")
    assert moved.because == [
        "Moved by hand from Hollow crew on 2027-03-01 by coordinator: The owner is there on Saturday only. "
        "It breaks (window): Mar 6 is outside its window, Mar 1 to Mar 5. "
        "It breaks (day off): Hollow crew does not work on Mar 6."
    ]


def test_it_leaves_the_plans_word_on_a_visit_that_is_only_kept_where_it_is(world):
    visit = _first(_order(world))
    kept = _move(world, visit, MONDAY, keep=True)
    assert kept.because == visit.because != []


def test_it_tells_once_and_in_full_by_how_much_a_fund_is_passed(world):
    fund = build.SeasonFundFactory(season=world.season, budget_cents=100_000)
    order = _order(world, "AB", 0.45, first_day=MONDAY, fund=fund)
    visit = _first(order)
    assert visit.shares.count() == 2
    dear = other_crew(people=0)
    role = build.StandardRateFactory(role=build.LaborRoleFactory(code="expert"), rate_e4=2_000_000).role
    for _ in range(3):
        build.CrewMembershipFactory(crew=dear, person=build.PersonFactory(role=role), first_day=date(2026, 1, 1))
    found = [one for one in flow.move_preview(visit=visit, crew=dear, day=TUESDAY) if one.kind == "money"]
    assert [fund.code in one.words for one in found] == [True]
    moved = _move(world, visit, TUESDAY, dear, reason="Hollow crew is at another site.")
    assert found[0].words in moved.because[0]


def test_it_tells_hours_over_the_crews_day(world):
    order = _order(world, "AB")
    assert _kinds(_first(order), world.crew, TUESDAY) == [("hours", False)]


def test_it_tells_a_seed_deadline_that_is_missed(world):
    order = _order(world, seed_due_on=TUESDAY)
    found = flow.move_preview(visit=_first(order), crew=world.crew, day=FRIDAY)
    assert [(one.kind, one.is_hard) for one in found] == [("seed deadline", False)]


def test_it_tells_a_chain_that_is_broken(world):
    first = asked(world, "A", 0.4)
    asked(
        world, "A", 0.4, patch=first.patch, origin="follow_up", follows=first, purpose="check",
        least_lag_days=10, most_lag_days=12, last_day=MONDAY + timedelta(days=30),
    )  # fmt: skip
    accepted(world)
    visit = Visit.objects.get(shares__prescription=first)
    found = flow.move_preview(visit=visit, crew=world.crew, day=MONDAY + timedelta(days=4))
    assert [one.kind for one in found] == ["chain"]
    assert str(first.patch) in found[0].words


def test_it_never_sends_a_crew_without_the_license_or_onto_a_closed_site(world):
    method = build.MethodFactory(code="cut")
    kind = build.QualificationKindFactory(code="sawyer")
    method.qualification = kind
    method.save()
    person = world.crew.memberships.order_by("id").first().person
    build.QualificationFactory(person=person, kind=kind, last_day=TUESDAY, jurisdiction=world.patch.site.jurisdiction)
    order = _order(world)
    visit = _first(order)
    assert _kinds(visit, world.crew, FRIDAY) == [("license", True)]
    with pytest.raises(MoveBreaks, match="Sawyer in KY"):
        _move(world, visit, FRIDAY, reason="There is no other day.")
    build.ClosureFactory(site=world.patch.site, first_day=TUESDAY, last_day=TUESDAY)
    assert ("closed", True) in _kinds(visit, world.crew, TUESDAY)
    visit.refresh_from_db()
    assert visit.day == MONDAY


def test_it_refuses_a_day_on_which_a_closure_keeps_the_method_out(world):
    visit = _first(_order(world))
    build.ClosureFactory(site=world.patch.site, first_day=TUESDAY, last_day=TUESDAY, methods=["cut"])
    assert ("closed", True) in _kinds(visit, world.crew, TUESDAY)


def test_it_refuses_a_day_on_which_nobody_of_the_crew_is_there(world):
    visit = _first(_order(world))
    for member in world.crew.memberships.all():
        build.AbsenceFactory(person=member.person, first_day=TUESDAY, last_day=TUESDAY)
    assert ("nobody", True) in _kinds(visit, world.crew, TUESDAY)
    with pytest.raises(MoveBreaks):
        _move(world, visit, TUESDAY, reason="They will come back.")


def test_it_refuses_a_day_outside_the_season(world):
    visit = _first(_order(world))
    with pytest.raises(Invalid) as refused:
        _move(world, visit, world.season.last_day + timedelta(days=1))
    assert [error.field for error in refused.value.errors] == ["day"]


def test_it_keeps_a_visit_where_a_hand_put_it_until_it_is_put_free(world):
    order = _order(world)
    visit = _move(world, _first(order), TUESDAY, keep=True, reason="The owner will be there.")
    assert (visit.is_kept, visit.kept_because) == (True, "The owner will be there.")
    build.AbsenceFactory(crew=world.crew, first_day=TUESDAY, last_day=TUESDAY)
    assert replanned(world).moved == []
    visit = flow.put_visit_free(visit=visit, stamp=world.stamp())
    assert (visit.is_kept, visit.kept_because) == (False, "")
    assert len(replanned(world).moved) == 1
    with pytest.raises(WrongState):
        flow.put_visit_free(visit=visit, stamp=world.stamp())


def test_it_tells_the_crew_of_an_issued_order(world):
    order = _issue(world, _order(world))
    _move(world, _first(order), TUESDAY)
    told = ChangeAudience.objects.filter(change__verb="order_visits_move")
    assert list(told.values_list("crew_id", flat=True)) == [world.crew.public_id]


def test_it_gives_a_draft_with_one_visit_to_another_crew_whole(world):
    order, ridge = _order(world), other_crew()
    moved = _move(world, _first(order), TUESDAY, ridge)
    order.refresh_from_db()
    assert (moved.crew, order.crew, order.first_day) == (ridge, ridge, TUESDAY)
    assert moved.because == ["Moved by hand from Hollow crew on 2027-03-01 by coordinator."]
    assert WorkOrder.objects.count() == 1


def test_it_takes_one_visit_of_a_draft_onto_another_crews_draft_with_its_funding(world):
    order, ridge = _order(world, "AB"), other_crew()
    order_fund(order=order, shares=[Payer(fund=world.fund, award=None, share_e4=10_000)], stamp=world.stamp())
    moved = _move(world, _first(order), TUESDAY, ridge)
    order.refresh_from_db()
    own = WorkOrder.objects.exclude(pk=order.pk).get()
    assert (own.crew, own.state, own.funding.get().fund) == (ridge, "draft", world.fund)
    assert (moved.state, moved.order_visit.order, moved.day) == ("ordered", own, TUESDAY)
    assert (order.first_day, order_visits(order).count()) == (TUESDAY, 1)


def test_it_does_not_take_a_visit_out_of_an_issued_order(world):
    order, ridge = _issue(world, _order(world, "AB")), other_crew()
    with pytest.raises(WrongState, match="Give all of it"):
        _move(world, _first(order), TUESDAY, ridge)


def test_it_gives_an_issued_order_with_one_visit_to_another_crew(world):
    order, ridge = _issue(world, _order(world)), other_crew()
    _move(world, _first(order), TUESDAY, ridge)
    told = dict(ChangeAudience.objects.filter(change__verb="order_reassign").values_list("crew_id", "gone"))
    assert told == {world.crew.public_id: True, ridge.public_id: False}


def test_it_leaves_what_was_started_or_done(world):
    order = flow.start_order(order=_issue(world, _order(world)), stamp=world.stamp())
    visit = _first(order)
    with pytest.raises(WrongState, match="started"):
        _move(world, visit, TUESDAY)
    Visit.objects.update(state="done")
    visit.refresh_from_db()
    with pytest.raises(WrongState):
        flow.move_preview(visit=visit, crew=world.crew, day=TUESDAY)


def test_it_moves_a_planned_visit_that_is_on_no_order(world):
    prescription = asked(world, "A", 0.4)
    visit = build.VisitFactory(season=world.season, crew=world.crew, site=world.patch.site, day=MONDAY)
    build.VisitShareFactory(visit=visit, prescription=prescription, planned_hours=4)
    ridge = other_crew()
    moved = _move(world, visit, TUESDAY, ridge)
    assert (moved.day, moved.crew, moved.state) == (TUESDAY, ridge, "planned")
