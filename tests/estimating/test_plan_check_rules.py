"""The checker must see each fault against chains, equipment, funds, fixed and former visits."""

from dataclasses import replace

import pytest

from estimating.plan import Assignment, Chain
from estimating.plan_check import check_plan
from estimating.schedule import schedule
from tests.estimating.planned import MONDAY, crew, day, season, visit

WIDE = {"last_day": day(13)}
FACTS = season(
    [
        visit("cut", hours=6, fund="park", **WIDE),
        visit("treat", hours=6, equipment={"sprayer": 1}, **WIDE),
        visit("spray", hours=6, equipment={"sprayer": 1}, **WIDE),
    ],
    [crew("c1"), crew("c2")],
    chains=[Chain(first="cut", second="treat", least_days=3, most_days=6)],
    equipment={"sprayer": 1},
    fund_budgets_cents={"park": 24_000},
    fixed=(Assignment("spray", "c2", day(4)),),
    previous=(Assignment("cut", "c1", day(1)),),
    move_penalty_cents=100,
)
PLACES = {"cut": ("c1", day(1)), "treat": ("c1", day(5)), "spray": ("c2", day(4))}


def plan_of(facts=FACTS, moved=(), **changed):
    """Three visits that each drive alone."""
    places = PLACES | changed
    entries = tuple(Assignment(name, *place) for name, place in places.items())
    sound = schedule(facts)
    return replace(
        sound, assignments=entries, left_out=(), cost_cents=3 * 24_000, value_cents=300_000, moved=tuple(moved)
    )


def test_it_finds_nothing_wrong_with_a_sound_plan():
    assert check_plan(FACTS, plan_of()) == ()


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (plan_of(treat=("c1", day(3))), "comes 2 days after cut, not 3-6"),
        (plan_of(treat=("c1", day(8))), "comes 7 days after cut, not 3-6"),
        (plan_of(treat=("c1", day(4))), "2 of sprayer are out"),
        (plan_of(spray=("c2", day(6))), "is fixed with crew c2"),
        (plan_of(cut=("c2", day(1))), "it moves 1"),
        (plan_of(moved=["treat"]), "says that it moves 1 visits, but it moves 0"),
    ],
)
def test_it_finds_each_fault(plan, words):
    assert any(words in wrong for wrong in check_plan(FACTS, plan))


def test_it_finds_a_second_without_its_first():
    plan = plan_of()
    alone = tuple(entry for entry in plan.assignments if entry.visit != "cut")
    assert any("which it comes after, is not" in wrong for wrong in check_plan(FACTS, replace(plan, assignments=alone)))


def test_it_finds_a_fund_that_is_overspent():
    poor = replace(FACTS, fund_budgets_cents={"park": 23_000})
    assert any("fund park pays 24000 cents, over" in wrong for wrong in check_plan(poor, plan_of()))


def test_it_counts_a_budget_at_its_level():
    spread = tuple(replace(need, own_log_sd=0.4) for need in FACTS.visits)
    facts = replace(FACTS, visits=spread, budget_cents=77_000, fund_budgets_cents={"park": 90_000})
    assert check_plan(facts, plan_of(facts)) == ()
    careful = replace(facts, budget_level=0.9)
    assert any("over the budget of 77000" in wrong for wrong in check_plan(careful, plan_of(careful)))


def test_it_forgives_fixed_visits_what_they_break():
    fixed = (Assignment("v1", "c1", day(9)), Assignment("v2", "c1", day(9)))
    facts = season([visit("v1"), visit("v2")], fixed=fixed, budget_cents=0)
    assert check_plan(facts, schedule(facts)) == ()


def test_it_counts_a_shorter_day():
    facts = season([visit()], [crew(other_hours=((MONDAY, 4.0),))])
    plan = replace(schedule(facts), assignments=(Assignment("v1", "c1", MONDAY),), left_out=())
    assert any("more than its 8" in wrong for wrong in check_plan(facts, plan))
