from dataclasses import replace
from itertools import islice

import pytest

from estimating.plan import Assignment
from estimating.plan_bound import COARSE_ROUNDS, QUICK_ROUNDS, bounds, plan_bound
from estimating.schedule import lost_cents, schedule
from tests.estimating.planned import MONDAY, crew, day, random_season, rich_season, season, visit


def test_it_is_the_cost_of_the_only_plan():
    # Ten person-hours and an hour's drive for each of two people, at 30 dollars.
    facts = season([visit()])
    assert plan_bound(facts, QUICK_ROUNDS + 80).least_cents == pytest.approx(12 * 3_000, rel=0.02)


def test_it_prices_a_drive_that_visits_share():
    facts = season([visit(f"v{number}", hours=4) for number in range(3)], last_day=MONDAY)
    assert plan_bound(facts, QUICK_ROUNDS + 80).least_cents == pytest.approx(14 * 3_000, rel=0.03)


def test_it_counts_the_days_without_the_skills():
    away = tuple((day(number), {"applicator"}) for number in range(5))
    facts = season([visit(skills={"applicator"})], [crew(skills_away=away)])
    for rounds in (5, QUICK_ROUNDS + 5):
        assert plan_bound(facts, rounds).least_cents == pytest.approx(100_000, abs=2)


def test_it_counts_the_value_of_what_cannot_be_done():
    facts = season([visit(skills={"diver"})])
    assert plan_bound(facts, 5).least_cents == pytest.approx(100_000, abs=2)


def test_it_holds_the_budget():
    facts = season([visit(f"v{number}", first_day=day(number)) for number in range(4)], budget_cents=40_000)
    # One visit is affordable; three are left out.
    assert plan_bound(facts, QUICK_ROUNDS + 60).least_cents >= 0.85 * (3 * 100_000 + 36_000)


def test_it_gets_better_round_by_round():
    found = [bound.least_cents for bound in islice(bounds(random_season(3)), QUICK_ROUNDS + 80)]
    assert found == sorted(found)
    assert found[-1] > found[QUICK_ROUNDS - 1] > found[0]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("make", [random_season, rich_season])
def test_no_plan_beats_it(seed, make):
    facts = make(seed)
    owed_aside = replace(facts, visits=tuple(replace(need, owed=False) for need in facts.visits))
    plan = schedule(owed_aside, 300)
    rounds = QUICK_ROUNDS + (20 if seed else COARSE_ROUNDS + 10)
    assert plan_bound(owed_aside, rounds).least_cents <= lost_cents(owed_aside, plan)


def test_it_leaves_fixed_visits_where_they_are():
    facts = season([visit("v1"), visit("v2", hours=6)], fixed=(Assignment("v1", "c1", MONDAY),))
    plan = schedule(facts, 50)
    found = plan_bound(facts, QUICK_ROUNDS + 80).least_cents
    assert 0.95 * lost_cents(facts, plan) <= found <= lost_cents(facts, plan)


@pytest.mark.parametrize("facts", [season([]), season([visit()], []), season([], [])])
def test_it_bounds_an_empty_season(facts):
    assert plan_bound(facts, 3).least_cents == pytest.approx(sum(v.value_cents for v in facts.visits), abs=2)


def test_it_names_its_rounds():
    assert plan_bound(season([visit()], [crew()]), 7).rounds == 7
