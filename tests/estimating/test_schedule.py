from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.plan_check import check_plan
from estimating.schedule import schedule
from tests.estimating.planned import MONDAY, crew, day, random_season, season, visit


def reasons(plan):
    return {entry.visit: entry.constraint for entry in plan.left_out}


def test_it_gives_a_visit_to_the_cheapest_able_crew_on_the_first_day():
    crews = [crew("dear", cost_cents_per_hour=4_000), crew("cheap"), crew("unable", cost_cents_per_hour=1, skills=())]
    plan = schedule(season([visit(skills={"applicator"})], crews))
    (given_to,) = plan.assignments
    assert (given_to.crew, given_to.day) == ("cheap", MONDAY)
    # Ten person-hours and an hour's drive for each of two people.
    assert (plan.cost_cents, plan.value_cents) == (12 * 3_000, 100_000)


def test_it_pays_the_drive_once_per_crew_site_and_day():
    two = [visit("v1", hours=6), visit("v2", hours=6)]
    plan = schedule(season(two))
    assert len({(entry.crew, entry.day) for entry in plan.assignments}) == 1
    assert plan.cost_cents == (6 + 6 + 2) * 3_000


def test_it_starts_another_day_when_the_first_is_full():
    plan = schedule(season([visit(f"v{number}", hours=8) for number in range(3)]))
    assert sorted(entry.day for entry in plan.assignments) == [day(0), day(1), day(2)]


def test_it_serves_what_is_worth_more_for_its_hours_first():
    short = {"last_day": MONDAY}
    plan = schedule(season([visit("poor", value_cents=60_000, **short), visit("rich", value_cents=90_000, **short)]))
    assert [entry.visit for entry in plan.assignments] == ["rich"]
    assert reasons(plan) == {"poor": "crew time"}


@pytest.mark.parametrize(
    ("changed", "season_changes", "constraint"),
    [
        ({"skills": {"diver", "crew"}}, {}, "skills"),
        ({"first_day": day(20), "last_day": day(30)}, {}, "window"),
        ({}, {"days_off": [day(n) for n in range(5)]}, "days off"),
        ({}, {"closed_days": {"north": {day(n) for n in range(5)}}}, "closed"),
        ({"hours": 14.5}, {}, "too long"),
        ({"value_cents": 30_000}, {}, "value"),
        ({"other_cents": 64_001}, {}, "value"),
        ({"other_cents": 1}, {"budget_cents": 36_000}, "budget"),
        ({}, {"budget_cents": 35_999}, "budget"),
    ],
)
def test_it_names_the_constraint_that_kept_a_visit_out(changed, season_changes, constraint):
    plan = schedule(season([visit(**changed)], **season_changes))
    (left_out,) = plan.left_out
    assert (plan.assignments, left_out.constraint) == ((), constraint)
    assert left_out.because.endswith(".")


def test_it_says_which_skills_no_crew_has():
    plan = schedule(season([visit(skills={"diver", "crew"})]))
    assert plan.left_out[0].because == "No crew has all of: crew, diver."


def test_it_works_only_inside_the_window_and_on_working_days():
    one = visit(first_day=day(2), last_day=day(6))
    plan = schedule(season([one], [crew(days_off=[day(2), day(3)])], days_off=[day(4)]))
    assert [entry.day for entry in plan.assignments] == [day(5)]


def test_it_leaves_a_closed_site_alone():
    plan = schedule(season([visit()], closed_days={"north": {MONDAY, day(1)}}))
    assert [entry.day for entry in plan.assignments] == [day(2)]


def test_it_works_at_an_open_site_while_another_is_closed():
    plan = schedule(season([visit("v1", site="south")], closed_days={"north": {MONDAY}}))
    assert [entry.day for entry in plan.assignments] == [MONDAY]


def test_it_spends_the_budget_to_the_cent_and_no_more():
    assert len(schedule(season([visit()], budget_cents=36_000)).assignments) == 1


def test_it_counts_what_visits_cost_beside_hours_to_the_cent():
    two = [visit("v1", hours=6, other_cents=1_999), visit("v2", hours=6, other_cents=1)]
    facts = season(two, budget_cents=(6 + 6 + 2) * 3_000 + 2_000)
    plan = schedule(facts, exact_work=0.1)
    assert (len(plan.assignments), plan.cost_cents) == (2, facts.budget_cents)
    assert plan.funds[0].level_cents == facts.budget_cents
    assert check_plan(facts, plan) == ()


def test_it_plans_an_empty_season():
    for empty in (season([]), season([visit()], []), season([], [])):
        assert schedule(empty, 3).assignments == ()
    assert reasons(schedule(season([visit()], []))) == {"v1": "skills"}


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("budget", [None, 300_000])
def test_it_makes_plans_that_the_checker_finds_sound(seed, budget):
    facts = random_season(seed, budget=budget)
    for rounds in (0, 60):
        plan = schedule(facts, rounds)
        assert check_plan(facts, plan) == ()
        assert len(plan.assignments) + len(plan.left_out) == len(facts.visits)


@pytest.mark.parametrize("seed", range(5))
def test_it_gets_no_worse_with_more_rounds(seed):
    facts = random_season(seed)
    scores = [plan.value_cents - plan.cost_cents for plan in (schedule(facts, rounds) for rounds in (0, 50, 200))]
    assert scores == sorted(scores)


def test_it_finds_better_plans_by_searching():
    gains = []
    for seed in range(5):
        greedy, searched = (schedule(random_season(seed), rounds) for rounds in (0, 200))
        gains.append((searched.value_cents - searched.cost_cents) - (greedy.value_cents - greedy.cost_cents))
    assert max(gains) > 0


def test_it_repeats_itself():
    facts = random_season(4)
    assert schedule(facts, 80, seed=9) == schedule(facts, 80, seed=9)


def test_it_reports_progress_and_stops_when_told():
    seen = []

    def until_ten(done, total):
        seen.append((done, total))
        return done < 10

    facts = random_season(1)
    plan = schedule(facts, 50, until_ten)
    assert (plan.stopped, plan.rounds, seen[-1]) == (True, 10, (10, 50))
    assert check_plan(facts, plan) == ()
    assert plan.assignments == schedule(facts, 10).assignments


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.integers(0, 25), st.integers(0, 3))
def test_it_is_sound_whatever_the_season(seed, visits, crews):
    facts = random_season(seed, visits, crews, budget=100_000 + 37 * seed)
    assert check_plan(facts, schedule(facts, 5)) == ()


def test_it_moves_with_the_calendar():
    facts = random_season(2)
    late = timedelta(days=365)
    moved = season(
        [visit_later(entry, late) for entry in facts.visits],
        [crew_later(entry, late) for entry in facts.crews],
        first_day=facts.first_day + late,
        last_day=facts.last_day + late,
        days_off=[off + late for off in facts.days_off],
        closed_days={site: {off + late for off in days} for site, days in facts.closed_days.items()},
    )
    then, now = schedule(moved, 20), schedule(facts, 20)
    assert [(entry.visit, entry.crew, entry.day - late) for entry in then.assignments] == [
        (entry.visit, entry.crew, entry.day) for entry in now.assignments
    ]


def visit_later(entry, late):
    given = vars(entry) | {"first_day": entry.first_day + late, "last_day": entry.last_day + late}
    return visit(given.pop("id"), **given)


def crew_later(entry, late):
    given = vars(entry) | {"days_off": [off + late for off in entry.days_off]}
    return crew(given.pop("id"), **given)
