"""A whole season looked at and prescribed in the background: the same as at once."""

import pytest

from orders import flow
from orders.common.models.run import CANCELED, DONE
from orders.common.runs import run_cancel, run_claim, run_perform
from orders.planning import prescribing
from orders.planning.filling import Filling
from orders.planning.models import ChoiceBatch, Prescription
from orders.planning.prescribing import season_prescribe_ask
from orders.planning.whole_season import filling_found, left_out
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground(monkeypatch):
    monkeypatch.setattr(prescribing, "PATCHES_AT_ONCE", 2)
    return ground_build()


def _ask(ground, purpose):
    return season_prescribe_ask(season=ground.world.season, purpose=purpose, stamp=ground.world.stamp())


def _work(run, *, meanwhile=lambda: None):
    attempt = run_claim(run, at=BEGIN)
    assert attempt is not None
    heard = []

    def tell(done, total, note):
        heard.append((done, total))
        meanwhile()

    state = run_perform(run, attempt, clock=lambda: BEGIN, tell=tell)
    run.refresh_from_db()
    return state, heard


def _asked_for():
    rows = Prescription.objects.exclude(state="dropped").order_by("patch_id", "method__code", "origin")
    return list(rows.values_list("patch", "method__code", "estimate", "first_day", "last_day", "why", "origin"))


def test_a_look_keeps_what_the_preview_says_and_changes_nothing(ground):
    fund = build.SeasonFundFactory(season=ground.world.season, code="CITY", budget_cents=100)
    fund.sites.set([ground.wide.site])
    run = _ask(ground, "look")
    state, heard = _work(run)
    preview = flow.preview_season(season=ground.world.season)
    assert state == DONE
    assert heard[-1][0] == heard[-1][1] == len(preview.rows)
    assert run.found["counts"] == {
        "new": len(preview.new),
        "standing": len(preview.standing),
        "refused": len(preview.refused),
    }
    assert [row["why"] for row in run.found["left_out"]] == [one.why for one in left_out(preview)]
    kept = filling_found(ground.world.season, run.found)
    assert isinstance(kept, Filling)
    assert kept == preview.filled
    assert not Prescription.objects.exists()


def test_it_prescribes_what_prescribing_at_once_would(ground):
    run = _ask(ground, "prescribe")
    _work(run)
    in_background = _asked_for()
    assert run.made_count == len(in_background) > 0
    assert run.choice == ChoiceBatch.objects.get()
    Prescription.objects.update(state="dropped")
    flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    assert _asked_for() == in_background


def test_what_others_choose_meanwhile_is_not_chosen_again(ground):
    run = _ask(ground, "prescribe")
    chosen: list[ChoiceBatch] = []

    def meanwhile():
        if not chosen:
            chosen.append(ground.choose("hand-pull", ground.pulled))

    _work(run, meanwhile=meanwhile)
    assert Prescription.objects.filter(patch=ground.pulled, method__code="hand-pull").count() == 1
    assert run.made_count > 0


def test_stopped_it_prescribes_nothing(ground):
    run = _ask(ground, "prescribe")
    state, _ = _work(run, meanwhile=lambda: run_cancel(run, at=BEGIN))
    assert state == CANCELED
    assert not Prescription.objects.exists()


def test_one_that_waits_is_not_asked_for_twice(ground):
    assert _ask(ground, "look") == _ask(ground, "look") != _ask(ground, "prescribe")
