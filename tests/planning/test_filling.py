"""How full a season gets with what is being picked: the same figures as the preview of the choice."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders import flow
from orders.planning.capacity import season_capacity
from orders.planning.filling import NO_WORK, Pick, picks_filling
from orders.planning.models import Prescription
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _picks(ground, method, *patches, **more):
    rows = flow.judge_choices(ask=ground.ask(method, *patches, **more), on=BEGIN.date())
    acting = [(row, row.estimate) for row in rows if row.acts]
    return {row.line.patch.pk: Pick(row.code, {row.code: found.pk}) for row, found in acting if found is not None}


def _figures(load):
    return load.count, round(float(load.hours.likely), 6), load.likely_cents, round(load.paid_hours, 6)


def test_it_is_what_the_preview_of_the_choice_says(ground):
    ground.choose("dormant-foliar", ground.wide)
    filled = picks_filling(ground.world.season, _picks(ground, "spot-foliar", ground.wide, ground.other))
    preview = ground.look("spot-foliar", ground.wide, ground.other, why="Late.")
    for mine, theirs in ((filled.new, preview.chosen), (filled.before, preview.before), (filled.after, preview.after)):
        assert _figures(mine) == _figures(theirs)
    assert filled.capacity == preview.capacity


def test_it_keeps_what_else_is_chosen_where_that_is_asked(ground):
    ground.choose("dormant-foliar", ground.wide)
    picks = _picks(ground, "spot-foliar", ground.wide, replace=False)
    instead, beside = (picks_filling(ground.world.season, picks, replace=way) for way in (True, False))
    assert beside.after.count > instead.after.count


def test_it_takes_away_what_is_dropped_with_what_follows_it(ground):
    ground.choose("dormant-foliar", ground.wide)
    filled = picks_filling(ground.world.season, {ground.wide.pk: Pick(NO_WORK, {})})
    assert filled.before.count > 0
    assert (filled.after.count, filled.new.count) == (0, 0)


def test_it_says_how_full_each_fund_gets(ground):
    fund = build.SeasonFundFactory(season=ground.world.season, code="CITY", budget_cents=100)
    fund.sites.set([ground.wide.site])
    filled = picks_filling(ground.world.season, _picks(ground, "dormant-foliar", ground.wide))
    (shown,) = filled.funds
    assert (shown.fund, shown.before.count, shown.after.count) == (fund, 0, 1)
    assert shown.chance_over is not None
    assert shown.chance_over > 0.99


def test_it_tells_work_that_no_fund_pays_for(ground):
    build.SeasonFundFactory(season=ground.world.season, code="CITY", budget_cents=100).sites.set([build.SiteFactory()])
    filled = picks_filling(ground.world.season, _picks(ground, "dormant-foliar", ground.wide))
    assert [shown.fund and shown.fund.code for shown in filled.funds] == ["CITY", None]


def test_it_asks_as_often_for_many_as_for_few(ground):
    def asked(*patches):
        picks = _picks(ground, "dormant-foliar", *patches)
        with CaptureQueriesContext(connection) as queries:
            picks_filling(ground.world.season, picks)
        return len(queries)

    few = asked(ground.wide)
    ground.choose("hand-pull", ground.pulled)
    assert Prescription.objects.exists()
    assert asked(ground.wide, ground.other) == few


def test_capacity_asks_as_often_for_many_crews_as_for_few(ground):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            found = season_capacity(ground.world.season)
        return len(queries), found.crews

    few, crews = asked()
    for number in range(5):
        build.CrewFactory(name=f"Crew {number}", people=3)
    many, more = asked()
    assert more == crews + 5
    assert many == few
