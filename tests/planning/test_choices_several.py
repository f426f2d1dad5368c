"""One choice that holds several methods, and one that takes a choice away: made whole, put back whole."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders import flow
from orders.common.errors import Invalid
from orders.planning.choosing import choice_batch_undo
from orders.planning.filling import NO_WORK
from orders.planning.models import ChoiceBatch, Prescription
from orders.planning.preview import RECOMMENDED, SEVERAL, ChoiceAsk
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db
ON = BEGIN.date()


@pytest.fixture
def ground():
    return ground_build()


def _ask(ground, picks, **more):
    return ChoiceAsk.of_picks(ground.world.season, picks, **more)


def _make(ground, picks, **more):
    return flow.choose_methods(ask=_ask(ground, picks, **more), on=ON, stamp=ground.world.stamp())


def _standing():
    rows = Prescription.objects.exclude(state="dropped").exclude(origin="follow_up")
    return {f"{row.patch.code} {row.method.code}" for row in rows.select_related("patch", "method")}


def test_it_makes_one_batch_of_several_methods(ground):
    picks = {ground.pulled: "hand-pull", ground.wide: "spot-foliar", ground.other: RECOMMENDED}
    batch = _make(ground, picks, why="A class works there.")
    assert ChoiceBatch.objects.get() == batch
    assert batch.method is None
    assert _standing() == {f"{ground.pulled.code} hand-pull", "H-02 spot-foliar", "H-03 dormant-foliar"}
    assert Prescription.objects.get(method__code="spot-foliar").why == "A class works there."


def test_it_names_the_method_that_all_picks_share(ground):
    assert _ask(ground, {ground.wide: "dormant-foliar", ground.other: "dormant-foliar"}).method == "dormant-foliar"
    assert _ask(ground, {ground.wide: "dormant-foliar", ground.other: "spot-foliar"}).method == SEVERAL
    assert _make(ground, {ground.wide: "dormant-foliar"}).method.code == "dormant-foliar"


def test_it_drops_a_choice_with_nothing_in_its_place_and_puts_it_back(ground):
    ground.choose("dormant-foliar", ground.wide)
    batch = _make(ground, {ground.wide: NO_WORK, ground.other: "dormant-foliar"}, why="The creek has it.")
    assert _standing() == {"H-03 dormant-foliar"}
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert _standing() == {"H-02 dormant-foliar"}


def test_it_asks_why_something_is_dropped(ground):
    ground.choose("dormant-foliar", ground.wide)
    with pytest.raises(Invalid) as refused:
        _make(ground, {ground.wide: NO_WORK})
    assert [error.field for error in refused.value.errors] == ["why"]
    assert _standing() == {"H-02 dormant-foliar"}


def test_it_says_that_nothing_is_chosen_that_could_be_dropped(ground):
    (row,) = flow.judge_choices(ask=_ask(ground, {ground.wide: NO_WORK}), on=ON)
    assert row.refused == "Nothing is chosen here that could be dropped."


def test_what_is_ordered_is_not_dropped(ground):
    ground.choose("dormant-foliar", ground.wide)
    Prescription.objects.update(state="ordered")
    (row,) = flow.judge_choices(ask=_ask(ground, {ground.wide: NO_WORK}), on=ON)
    assert not row.acts


def test_it_leaves_a_dropped_choice_out_of_the_season_that_is_shown(ground):
    ground.choose("dormant-foliar", ground.wide)
    preview = flow.preview_choices(ask=_ask(ground, {ground.wide: NO_WORK}, why="No."), on=ON)
    assert preview.before.count > preview.after.count
    assert preview.chosen.count == 0
    assert preview.needs_why is False


def test_it_shows_every_method_of_a_patch_as_it_would_be_judged_alone(ground):
    ask = ChoiceAsk(season=ground.world.season, method=RECOMMENDED, patches=[ground.wide])
    ((line, cells),) = flow.methods_by_patch(ask=ask, on=ON)
    alone = {row.code: row for row in flow.judge_choices(ask=_ask(ground, {ground.wide: "spot-foliar"}), on=ON)}
    shown = {cell.code: cell for cell in cells}
    assert line.patch == ground.wide
    assert shown["spot-foliar"] == alone["spot-foliar"]
    assert shown["cut-stem"].refused == "Cut-stem treatment does not treat this growth form."


@pytest.mark.parametrize("step", [flow.methods_by_patch, flow.judge_choices, flow.preview_choices])
def test_it_asks_the_database_as_often_for_many_patches_as_for_few(ground, step):
    def asked(*patches):
        ask = ChoiceAsk(season=ground.world.season, method="dormant-foliar", patches=patches)
        with CaptureQueriesContext(connection) as queries:
            step(ask=ask, on=ON)
        return len(queries)

    asked(ground.wide)
    assert asked(ground.wide, ground.other) <= asked(ground.wide)


def test_prescribing_the_season_is_a_choice_that_can_be_put_back(ground):
    made = flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    batch = ChoiceBatch.objects.get()
    assert batch.asked == "the whole season"
    assert {row.pk for row in made} == set(batch.parts.values_list("prescription", flat=True))
    choice_batch_undo(batch=batch, stamp=ground.world.stamp())
    assert _standing() == set()


def test_prescribing_the_season_leaves_patches_where_something_else_was_chosen(ground):
    ground.choose("spot-foliar", ground.wide, why="A class works there.")
    preview = flow.preview_season(season=ground.world.season)
    assert {str(row.line.patch.code) for row in preview.new} == {ground.pulled.code, "H-03"}
    flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    assert "H-02 dormant-foliar" not in _standing()
