"""What work is worth to the planner: seed first, then area, then the edge of spread."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.planning.models import Prescription
from orders.planning.worth import (
    BUDGET_LEVELS,
    Weights,
    budget_level_name,
    edges_of_spread,
    season_budget_level_set,
    season_worth_set,
    worth_cents,
    worth_facts,
)
from orders.sites.selectors import surveys_current
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return build.SeasonFactory(first_day=date(2027, 1, 1), last_day=date(2027, 12, 31))


def asked(season, **more):
    row = build.PrescriptionFactory(season=season, **more)
    return Prescription.objects.select_related("estimate", "patch").get(pk=row.pk)


def worth(row):
    return worth_cents(row, 1.0, worth_facts(row.season))


def at(site, lon, lat, area=1000.0):
    survey = build.SurveyFactory(
        patch=build.PatchFactory(site=site), min_lon=lon, max_lon=lon, min_lat=lat, max_lat=lat, components=[]
    )
    build.SurveyComponentFactory(survey=survey, infested_area_m2=area)
    return survey.patch_id


def test_all_that_is_asked_for_is_worth_more_than_it_costs(season):
    row = asked(season, purpose="check", origin="follow_up", estimate__treated_area_m2=0)
    assert worth(row) > row.estimate.total_cents


def test_a_sooner_seed_deadline_is_worth_more(season):
    none, late, soon = (asked(season, seed_due_on=day) for day in (None, date(2027, 10, 1), date(2027, 4, 1)))
    assert worth(none) < worth(late) < worth(soon)


def test_a_plant_that_may_fruit_counts_by_its_share(season):
    may, surely = (asked(season, seed_due_on=date(2027, 8, 18)) for _ in range(2))
    form = build.GrowthFormFactory(code="climbing")
    build.SurveyComponentFactory(survey=surely.estimate.survey, growth_form=form, fertile="yes")
    usual = Weights()
    days = (date(2027, 12, 31) - date(2027, 8, 18)).days / 364
    more = round(may.estimate.total_cents * (usual.seed + usual.sooner * days) * (1 - usual.may_fruit))
    assert worth(surely) - worth(may) == pytest.approx(more, abs=2)


def test_area_counts_by_the_square_meter_and_a_check_treats_none(season):
    build.MethodFactory(code="cut", facts={"removes_fruit": "yes", "treats_stems": "yes", "kills_roots": "no"})
    small, large = (asked(season, estimate__treated_area_m2=area) for area in (0, 500))
    assert worth(large) - worth(small) == pytest.approx(500 * Weights().area_cents_m2)
    look = build.MethodFactory(code="monitor", facts={"removes_fruit": "no", "treats_stems": "no", "kills_roots": "no"})
    assert worth(asked(season, estimate__treated_area_m2=500, estimate__method=look)) == worth(small)


@pytest.mark.parametrize(
    "more", [{"origin": "follow_up"}, {"origin": "remainder"}, {"patch__control_state": "under_treatment"}]
)
def test_begun_work_is_worth_more(season, more):
    begun, new = asked(season, **more), asked(season)
    assert worth(begun) - worth(new) == pytest.approx(new.estimate.total_cents * Weights().owed)


def test_a_share_is_worth_its_share(season):
    row, whole = asked(season, share_left=0.5), asked(season)
    facts = worth_facts(season)
    assert worth_cents(row, 0.5, facts) == pytest.approx(worth_cents(whole, 0.25, facts), abs=1)


def test_a_patch_far_from_the_others_is_the_edge():
    site = build.SiteFactory()
    middle, near, far = at(site, -85.7, 38.2, 9000), at(site, -85.701, 38.2), at(site, -85.72, 38.2)
    edges = edges_of_spread(list(surveys_current()))
    assert edges[far] == 1.0
    assert max(edges[middle], edges[near]) < 0.15


def test_a_ring_around_a_core_is_its_edge_and_a_lone_patch_too():
    site = build.SiteFactory()
    core = at(site, -85.7, 38.2, 50_000)
    ring = [at(site, -85.7 + lon, 38.2 + lat) for lon, lat in ((0.01, 0), (-0.01, 0))]
    lone = at(build.SiteFactory(), -86.0, 38.0)
    edges = edges_of_spread(list(surveys_current()))
    assert all(edges[patch] == pytest.approx(1.0) for patch in ring)
    assert edges[lone] == 1.0
    assert edges[core] == pytest.approx(1.0)  # as far from its neighbors as they are from it


def test_patches_on_one_spot_have_no_edge():
    site = build.SiteFactory()
    spots = [at(site, -85.7, 38.2) for _ in range(2)]
    assert [edges_of_spread(list(surveys_current()))[patch] for patch in spots] == [0.0, 0.0]


def test_the_season_says_what_counts_otherwise(season, stamp):
    before = worth(asked(season))
    season_worth_set(season=season, worth={"control": 9, "edge": 1}, stamp=stamp, expected_version=1)
    assert (season.worth, Weights.of(season).control) == ({"control": 9.0}, 9.0)
    assert worth(asked(season)) > before
    season_worth_set(season=season, worth={}, stamp=stamp)
    assert Weights.of(season) == Weights()


@pytest.mark.parametrize("worth", [{"beauty": 1}, {"seed": -1}, {"seed": True}, {"seed": float("inf")}, {"seed": "2"}])
def test_it_refuses_a_weight_that_is_none(season, stamp, worth):
    with pytest.raises(Invalid) as refused:
        season_worth_set(season=season, worth=worth, stamp=stamp)
    assert [error.field for error in refused.value.errors] == list(worth)
    assert not Change.objects.exists()


def test_the_budget_holds_at_a_named_level(season, stamp):
    season_budget_level_set(season=season, level="cautious", stamp=stamp, expected_version=1)
    assert (season.budget_level, budget_level_name(season.budget_level)) == (BUDGET_LEVELS["cautious"], "cautious")
    assert budget_level_name(0.7) == "70%"
    with pytest.raises(Invalid):
        season_budget_level_set(season=season, level="bold", stamp=stamp)
