"""Chains, equipment, funds, owed and fixed visits, and plans that change as little as they can."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.plan import Assignment, Chain
from estimating.plan_check import check_plan
from estimating.plan_repair import PART_WORK
from estimating.schedule import lost_cents, schedule
from tests.estimating.planned import MONDAY, crew, day, random_season, rich_season, season, visit

WIDE = {"last_day": day(13)}


def days(plan):
    return {entry.visit: entry.day for entry in plan.assignments}


def reasons(plan):
    return {entry.visit: entry.constraint for entry in plan.left_out}


def chain(first, second, least=3, most=6):
    return Chain(first=first, second=second, least_days=least, most_days=most)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 25), st.integers(0, 3), st.sampled_from([None, 200_000]))
def test_it_is_sound_whatever_the_season_has(seed, visits, crews, budget):
    facts = rich_season(seed, visits, crews, budget, level=0.8)
    assert check_plan(facts, schedule(facts, 20)) == ()


@pytest.mark.parametrize("seed", range(4))
def test_it_is_sound_after_the_exact_solver(seed):
    facts = rich_season(seed, budget=300_000)
    first = schedule(facts, 100)
    plan = schedule(facts, 100, exact_work=1.0)
    assert check_plan(facts, plan) == ()
    assert plan == schedule(facts, 100, exact_work=1.0)
    owed = {need.id for need in facts.visits if need.owed}
    assert len(owed & set(days(plan))) >= len(owed & set(days(first)))


def test_it_makes_the_second_of_a_chain_within_its_lag():
    facts = season([visit("cut", **WIDE), visit("treat", **WIDE)], chains=[chain("cut", "treat")])
    found = days(schedule(facts, 30))
    assert 3 <= (found["treat"] - found["cut"]).days <= 6


def test_it_leaves_out_the_second_without_the_first():
    facts = season([visit("cut", skills={"diver"}), visit("treat")], chains=[chain("cut", "treat")])
    plan = schedule(facts, 30)
    assert reasons(plan) == {"cut": "skills", "treat": "first visit"}


def test_it_makes_a_poor_first_for_the_sake_of_a_rich_second():
    facts = season(
        [visit("cut", value_cents=1_000, **WIDE), visit("treat", value_cents=900_000, **WIDE)],
        chains=[chain("cut", "treat")],
    )
    assert set(days(schedule(facts, 200))) == {"cut", "treat"}


def test_it_shares_out_equipment():
    spraying = [visit(f"v{number}", equipment={"sprayer": 1}, last_day=MONDAY) for number in range(3)]
    crews = [crew(f"c{number}") for number in range(3)]
    plan = schedule(season(spraying, crews, equipment={"sprayer": 2}), 30)
    assert (len(plan.assignments), set(reasons(plan).values())) == (2, {"equipment"})
    assert plan.left_out[0].change == "equipment"


def test_it_lets_a_crew_use_its_sprayer_for_all_its_visits():
    spraying = [visit(f"v{number}", hours=4, equipment={"sprayer": 1}, last_day=MONDAY) for number in range(3)]
    assert len(schedule(season(spraying, equipment={"sprayer": 1})).assignments) == 3


def test_it_keeps_each_fund_within_its_budget():
    visits = [visit("v1", fund="park"), visit("v2", fund="county")]
    facts = season(visits, fund_budgets_cents={"park": 36_000, "county": 35_999})
    plan = schedule(facts, 30)
    assert (set(days(plan)), reasons(plan)) == ({"v1"}, {"v2": "budget"})
    assert plan.left_out[0].change == "money"
    assert [(use.fund, use.cost_cents) for use in plan.funds] == [("park", 36_000), ("county", 0)]


def test_it_charges_a_fund_with_what_its_visits_cost_beside_hours():
    needs = [visit(f"v{number}", hours=6, fund="park", other_cents=5_000, last_day=MONDAY) for number in range(2)]
    enough = season(needs, fund_budgets_cents={"park": (6 + 6 + 2) * 3_000 + 10_000})
    plan = schedule(enough, 30)
    assert (len(plan.assignments), plan.funds[0].cost_cents) == (2, 52_000)
    short = replace(enough, fund_budgets_cents={"park": 51_999})
    assert list(reasons(schedule(short, 30)).values()) == ["budget"]


def test_it_stops_between_parts_of_the_exact_solver():
    facts, calls = random_season(3, visits=120, crews=4), []

    def until_the_second_part(done, total):
        calls.append((done, total))
        return len(calls) < 3  # after the search, before the first part, before the second

    plan = schedule(facts, progress=until_the_second_part, exact_work=6 * PART_WORK)
    assert plan.stopped
    assert check_plan(facts, plan) == ()
    assert replace(plan, stopped=False) == schedule(facts, exact_work=PART_WORK)
    assert calls == [(0, 0)] * 3


def test_it_makes_a_first_visit_while_there_are_days_for_what_comes_after():
    full = visit("other", hours=4, first_day=day(9), last_day=day(9), value_cents=500_000)
    cut, treat = visit("cut", **WIDE), visit("treat", first_day=day(3), last_day=day(5))
    plan = schedule(season([full, cut, treat], chains=[chain("cut", "treat", 3, 4)]))
    assert set(days(plan)) == {"other", "cut", "treat"}
    assert day(0) <= days(plan)["cut"] <= day(2)


def test_it_makes_a_first_visit_even_where_nothing_can_come_after():
    cut, treat = visit("cut", **WIDE), visit("treat", first_day=day(0), last_day=day(1))
    plan = schedule(season([cut, treat], chains=[chain("cut", "treat", 3, 4)]))
    assert (set(days(plan)), reasons(plan)) == ({"cut"}, {"treat": "lag"})


def test_it_holds_the_budget_at_a_level_of_the_range():
    spread = {"own_log_sd": 0.3, "shared_log_sd": 0.2}
    likely = season([visit(**spread)], budget_cents=40_000)
    assert len(schedule(likely).assignments) == 1
    careful = replace(likely, budget_level=0.9)
    assert reasons(schedule(careful)) == {"v1": "budget"}
    (use,) = schedule(replace(careful, budget_cents=60_000)).funds
    assert use.cost_cents < use.level_cents <= use.budget_cents
    assert 0 < use.chance_over <= 0.1


def test_it_tells_the_chance_of_overspending():
    # Thirty thousand of work with a log spread of 0.3 and six thousand of driving, against 36,000: even odds.
    stands = (Assignment("v1", "c1", MONDAY),)
    (use,) = schedule(season([visit(own_log_sd=0.3)], budget_cents=36_000, fixed=stands)).funds
    assert use.chance_over == pytest.approx(0.5, abs=0.01)


def test_it_holds_a_likely_budget_where_many_visits_come_out_at_their_mean():
    visits = [visit(f"v{number}", own_log_sd=0.6, **WIDE) for number in range(10)]
    plan = schedule(season(visits, budget_cents=180_000), 50)
    (use,) = plan.funds
    assert 3 <= len(plan.assignments) < 10
    assert use.cost_cents < use.level_cents <= use.budget_cents
    assert use.chance_over <= 0.5


def test_it_serves_owed_follow_up_before_richer_new_ground():
    short = {"last_day": MONDAY}
    visits = [visit("new", value_cents=900_000, **short), visit("owed", value_cents=20_000, owed=True, **short)]
    assert set(days(schedule(season(visits), 50))) == {"owed"}


@pytest.mark.parametrize("seed", range(5))
def test_it_never_drops_owed_visits_for_new_ground(seed):
    facts = rich_season(seed, 60, budget=400_000)
    owed = {need.id for need in facts.visits if need.owed}
    start, searched = (set(days(schedule(facts, rounds))) & owed for rounds in (0, 300))
    worth = {need.id: need.value_cents for need in facts.visits}
    assert sum(worth[each] for each in searched) >= sum(worth[each] for each in start)


def test_it_leaves_fixed_visits_alone_whatever_they_break():
    fixed = (Assignment("v1", "c1", day(9)), Assignment("v2", "c1", day(9)))
    facts = season([visit("v1"), visit("v2"), visit("v3", first_day=day(9), last_day=day(10))], fixed=fixed)
    plan = schedule(facts, 50)
    assert set(fixed) <= set(plan.assignments)
    assert days(plan)["v3"] == day(10)
    assert check_plan(facts, plan) == ()


def test_it_takes_the_hours_of_another_day_from_other_hours():
    facts = season([visit(last_day=MONDAY)], [crew(other_hours=((MONDAY, 4.0),))])
    assert reasons(schedule(facts)) == {"v1": "crew time"}


def test_it_stays_with_the_previous_plan_when_nothing_changed():
    facts = random_season(3)
    first = schedule(facts, 200)
    again = schedule(replace(facts, previous=first.assignments), 200, seed=5)
    assert (again.moved, again.assignments) == ((), first.assignments)


@pytest.mark.parametrize("seed", range(4))
def test_it_moves_little_when_little_changes(seed):
    facts = random_season(seed, visits=120, crews=4)
    first = schedule(facts, 400)
    lost = first.assignments[len(first.assignments) // 2]
    crews = tuple(
        replace(each, days_off=each.days_off | {lost.day}) if each.id == lost.crew else each for each in facts.crews
    )
    changed = replace(facts, crews=crews, previous=first.assignments)
    plan = schedule(changed, 400)
    hit = {entry.visit for entry in first.assignments if (entry.crew, entry.day) == (lost.crew, lost.day)}
    assert check_plan(changed, plan) == ()
    assert len(set(plan.moved) - hit) <= 0.05 * (len(first.assignments) - len(hit))


@pytest.mark.parametrize("seed", range(6))
def test_it_is_no_worse_with_more_means_than_the_plan_that_it_starts_from(seed):
    facts = replace(rich_season(seed, 40, budget=250_000), previous=())
    facts = replace(facts, visits=tuple(replace(need, owed=False) for need in facts.visits))
    plan = schedule(facts, 300, seed=seed)
    more = replace(
        facts,
        crews=(*facts.crews, replace(facts.crews[0], id="more")),
        budget_cents=260_000,
        previous=plan.assignments,
        move_penalty_cents=0,
    )
    start, searched = schedule(more), schedule(more, 300)
    assert lost_cents(more, searched) <= lost_cents(more, start) <= lost_cents(facts, plan)
    assert check_plan(more, searched) == ()


def test_it_leaves_the_plan_that_it_starts_from_where_another_place_is_cheaper():
    crews = [crew("dear", cost_cents_per_hour=4_000), crew("cheap")]
    facts = season([visit()], crews, previous=[Assignment("v1", "dear", MONDAY)], move_penalty_cents=0)
    (entry,) = schedule(facts).assignments
    assert entry.crew == "cheap"


def test_it_goes_by_the_pace_it_is_given():
    plan = schedule(random_season(1), 1_000, pace=lambda done: done / 40)
    assert (plan.rounds, plan.stopped) == (40, False)


def test_it_tells_of_each_better_cost():
    told: list[int] = []
    schedule(random_season(1), 200, told=told.append)
    assert len(told) > 1
    assert told == sorted(told, reverse=True)


def test_it_waits_for_the_skills_of_the_day():
    facts = season([visit(skills={"applicator"})], [crew(skills_away=((MONDAY, {"applicator"}), (day(1), {"sawyer"})))])
    assert days(schedule(facts)) == {"v1": day(1)}
    assert days(schedule(facts, 50, exact_work=0.1)) == {"v1": day(1)}


def test_it_says_when_the_skills_are_away():
    away = tuple((day(number), {"applicator"}) for number in range(5))
    facts = season([visit(skills={"applicator"})], [crew(skills_away=away)])
    (entry,) = schedule(facts).left_out
    assert (entry.constraint, entry.change) == ("skills", "license")
    assert entry.because == "No crew at work in its window has all of: applicator."
    assert entry.would_help == "Crew c1 could do it on Mar 1 with: applicator."


def test_it_puts_back_a_former_visit_only_with_its_skills():
    before = (Assignment("v1", "c1", MONDAY),)
    facts = season([visit(skills={"applicator"})], [crew(skills_away=((MONDAY, {"applicator"}),))], previous=before)
    plan = schedule(facts, 20)
    assert (days(plan), plan.moved) == ({"v1": day(1)}, ("v1",))
    assert check_plan(facts, plan) == ()


@pytest.mark.parametrize("seed", range(6))
def test_it_ends_where_no_visit_alone_can_move_for_less(seed):
    facts = random_season(seed, 80, 4)
    plan = schedule(facts, 10)
    again = schedule(replace(facts, previous=plan.assignments, move_penalty_cents=0), 0)
    assert again.cost_cents - again.value_cents == plan.cost_cents - plan.value_cents
