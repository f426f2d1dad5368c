"""The checker must see each kind of fault that a plan can have."""

from dataclasses import replace

import pytest

from estimating.plan import Assignment, LeftOut
from estimating.plan_check import check_plan
from estimating.schedule import schedule
from tests.estimating.planned import MONDAY, crew, day, season, visit

FACTS = season(
    [visit("v1", skills={"applicator"}), visit("v2", hours=6, site="south")],
    [crew("c1", days_off=[day(1)]), crew("c2", skills={"crew"})],
    closed_days={"north": {day(2)}},
    budget_cents=70_000,
)
SOUND = schedule(FACTS)


def moved(name, **changed):
    entries = tuple(replace(entry, **changed) if entry.visit == name else entry for entry in SOUND.assignments)
    return replace(SOUND, assignments=entries)


def test_it_finds_nothing_wrong_with_a_sound_plan():
    assert len(SOUND.assignments) == 2
    assert check_plan(FACTS, SOUND) == ()


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (moved("v1", crew="c2"), "crew c2 lacks skills for visit v1"),
        (moved("v1", day=day(1)), "crew c1 does not work on"),
        (moved("v1", day=day(2)), "site north is closed on"),
        (moved("v1", day=day(7)), "outside its window"),
        (moved("v1", day=day(40)), "outside the season"),
        (moved("v1", crew="c9"), "unknown"),
        (moved("v1", visit="v9"), "v9 is not of this season"),
        (replace(SOUND, assignments=SOUND.assignments[:1]), "0 times"),
        (replace(SOUND, left_out=(LeftOut("v1", "window", "."),)), "v1 stands in the plan 2 times"),
        (replace(SOUND, cost_cents=SOUND.cost_cents - 2), "its visits cost"),
        (replace(SOUND, value_cents=1), "its visits are worth"),
    ],
)
def test_it_finds_each_fault(plan, words):
    assert any(words in wrong for wrong in check_plan(FACTS, plan))


def test_it_counts_what_visits_cost_beside_hours():
    facts = season([visit(other_cents=500)])
    plan = schedule(facts)
    assert check_plan(facts, plan) == ()
    assert any("cost 36500" in wrong for wrong in check_plan(facts, replace(plan, cost_cents=36_000)))
    poor = replace(facts, budget_cents=36_400)
    assert any("takes 36500 cents, over the budget" in wrong for wrong in check_plan(poor, plan))


def test_it_finds_a_skill_that_is_missing_that_day():
    spraying = next(entry for entry in SOUND.assignments if entry.visit == "v1")
    away = replace(FACTS.crews[0], skills_away=((spraying.day, frozenset({"applicator"})),))
    (wrong,) = check_plan(replace(FACTS, crews=(away, FACTS.crews[1])), SOUND)
    assert wrong == "crew c1 lacks skills for visit v1"


def test_it_finds_a_day_that_is_too_full():
    full = season([visit("v1", hours=9), visit("v2", hours=6)], [crew()])
    both = tuple(Assignment(name, "c1", MONDAY) for name in ("v1", "v2"))
    plan = replace(SOUND, assignments=both, left_out=(), cost_cents=17 * 3_000, value_cents=200_000)
    (wrong,) = check_plan(full, plan)
    assert "works 17.00 person-hours" in wrong


def test_it_finds_a_budget_that_is_overspent():
    poor = replace(FACTS, budget_cents=SOUND.cost_cents - 1)
    assert any("over the budget" in wrong for wrong in check_plan(poor, SOUND))
