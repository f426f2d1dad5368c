"""Putting a choice back as it was."""

import pytest

from orders.common.errors import WrongState
from orders.common.models import Change
from orders.planning.choosing import ChoiceInUse, choice_batch_undo
from orders.planning.models import Prescription
from tests import build
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _states():
    return {
        f"{code} {method}": state
        for code, method, state in Prescription.objects.values_list("patch__code", "method__code", "state")
    }


def test_it_drops_what_was_made(ground):
    batch = ground.choose()
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert set(_states().values()) == {"dropped"}
    assert (batch.state, batch.undone_by) == ("undone", ground.world.coordinator)


def test_it_restores_what_was_replaced(ground):
    ground.choose("dormant-foliar", ground.wide)
    batch = ground.choose("spot-foliar", ground.wide, why="Late.")
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert _states() == {"H-02 dormant-foliar": "open", "H-02 spot-foliar": "dropped"}
    assert "prescription_restore" in Change.objects.values_list("verb", flat=True)


@pytest.mark.parametrize(("still_planned", "state"), [(True, "planned"), (False, "open")])
def test_it_is_planned_again_only_while_a_visit_serves_it(ground, still_planned, state):
    ground.choose("dormant-foliar", ground.wide)
    old = Prescription.objects.get()
    visit = build.VisitFactory(season=ground.world.season, prescriptions=[old])
    Prescription.objects.update(state="planned")
    batch = ground.choose("spot-foliar", ground.wide, why="Late.")
    if not still_planned:
        visit.shares.all().delete()
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert _states()["H-02 dormant-foliar"] == state


def test_it_refuses_what_was_ordered_since_and_names_it(ground):
    batch = ground.choose()
    Prescription.objects.filter(patch=ground.wide).update(state="ordered")
    with pytest.raises(ChoiceInUse) as refused:
        choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert "H-02 is ordered" in refused.value.detail
    assert set(_states().values()) == {"open", "ordered"}


def test_it_refuses_where_the_dropped_method_was_asked_for_again(ground):
    ground.choose("dormant-foliar", ground.wide)
    batch = ground.choose("spot-foliar", ground.wide, why="Late.")
    ground.choose("dormant-foliar", ground.wide)
    with pytest.raises(ChoiceInUse):
        choice_batch_undo(batch=batch, stamp=ground.world.stamp())


def test_it_leaves_what_somebody_dropped_meanwhile(ground):
    batch = ground.choose()
    Prescription.objects.filter(patch=ground.wide).update(state="dropped")
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert set(_states().values()) == {"dropped"}


def test_it_undoes_once(ground):
    batch = ground.choose()
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    with pytest.raises(WrongState):
        choice_batch_undo(batch=batch, stamp=ground.world.stamp())


def test_it_gives_back_the_season_that_was(ground):
    before = ground.look()
    batch = ground.choose()
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    after = ground.look()
    assert (after.fingerprint, after.before.count) == (before.fingerprint, before.before.count)


@pytest.fixture
def chained(ground):
    """A dormant spray is checked; another method after it is not."""
    build.ChainRuleFactory(
        after=build.MethodFactory(code="dormant-foliar"),
        method=build.MethodFactory(code="monitor"),
        purpose="check",
        least_days=180,
        most_days=400,
    )
    return ground


def test_it_drops_what_followed_and_gives_back_the_season_that_was(chained):
    before = chained.look()
    batch = chained.choose()
    assert _states()["H-02 monitor"] == "open"
    choice_batch_undo(batch=batch, stamp=chained.world.stamp())
    assert set(_states().values()) == {"dropped"}
    after = chained.look()
    assert (after.fingerprint, after.before.count) == (before.fingerprint, before.before.count)


def test_it_restores_what_followed_a_replaced_method(chained):
    chained.choose("dormant-foliar", chained.wide)
    batch = chained.choose("spot-foliar", chained.wide, why="Late.")
    assert _states()["H-02 monitor"] == "dropped"
    choice_batch_undo(batch=batch, stamp=chained.world.stamp())
    assert _states() == {"H-02 dormant-foliar": "open", "H-02 monitor": "open", "H-02 spot-foliar": "dropped"}


def test_a_second_choice_leaves_what_follows_the_first(chained):
    chained.choose("dormant-foliar", chained.wide)
    chained.choose("spot-foliar", chained.wide, why="Both.", replace=False)
    assert _states()["H-02 monitor"] == "open"
    shown = chained.look("mow-mulch", chained.wide, why="Late.")
    assert (shown.before.count, shown.after.count) == (3, 1)
