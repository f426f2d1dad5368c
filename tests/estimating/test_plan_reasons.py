"""The change that is offered for a visit left out does let it in."""

from dataclasses import replace

import pytest

from estimating.plan import Assignment, Chain
from estimating.schedule import schedule
from tests.estimating.planned import MONDAY, crew, day, rich_season, season, visit


def left_out(facts):
    (entry,) = schedule(facts).left_out
    return entry


def test_it_offers_a_license():
    entry = left_out(season([visit(skills={"diver", "crew"})]))
    assert (entry.constraint, entry.change, entry.change_cents) == ("skills", "license", 36_000)
    assert entry.would_help == "Crew c1 could do it on Mar 1 with: diver."


def test_it_offers_money_to_the_cent():
    entry = left_out(season([visit()], budget_cents=35_000))
    assert (entry.change, entry.would_help) == ("money", "$10.00 more in the season's budget.")
    assert schedule(season([visit()], budget_cents=36_000)).left_out == ()


def test_it_offers_a_longer_window_or_a_crew_day():
    both = [visit("v1", last_day=MONDAY, value_cents=200_000), visit("v2", last_day=MONDAY)]
    entry = left_out(season(both))
    assert (entry.visit, entry.constraint, entry.change) == ("v2", "crew time", "crew day")
    entry = left_out(season(both, [crew(hours_a_day=8.0, days_off=())], closed_days={"north": {day(1)}}))
    assert entry.would_help == "One more day of crew c1, such as Mar 1."


def test_it_offers_a_day_outside_the_window():
    entry = left_out(season([visit(last_day=MONDAY)], days_off={MONDAY}))
    assert entry.constraint == "days off"
    assert {entry.change} <= {"window", "crew day"}


def test_it_says_when_its_first_visit_is_missing():
    chains = [Chain(first="v1", second="v2", least_days=1, most_days=5)]
    facts = season([visit("v1", skills={"diver"}), visit("v2")], chains=chains)
    entry = schedule(facts).left_out[1]
    assert (entry.constraint, entry.change) == ("first visit", "first visit")
    assert entry.because == "It comes after v1, which is left out."
    assert entry.would_help == "Let in v1 first: Crew c1 could do it on Mar 1 with: diver."


def test_it_never_offers_a_day_before_the_visit_that_it_follows():
    chains = [Chain(first="v1", second="v2", least_days=2, most_days=3)]
    fixed = [Assignment("v1", "c1", day(5))]
    entry = left_out(season([visit("v1"), visit("v2", last_day=day(3))], chains=chains, fixed=fixed))
    assert (entry.constraint, entry.change) == ("lag", "window")
    assert entry.would_help == "With a longer window it could be done on Mar 8."


def test_it_says_when_a_change_takes_money_too():
    entry = left_out(season([visit(skills={"diver"})], budget_cents=1_000))
    assert entry.change == "license"
    assert entry.would_help.endswith("with: diver. It also takes $350.00 more in the season's budget.")


def test_it_says_when_no_single_change_helps():
    entry = left_out(season([visit(skills={"diver"}, hours=100)]))
    assert (entry.change, entry.would_help) == ("", "No single change lets it in.")


def test_it_fills_what_only_others_drive_makes_worth_it():
    # Alone the first would cost 24,000; beside the second, whose crew is there anyway, 18,000.
    visits = [visit("v1", hours=6, value_cents=20_000), visit("v2", hours=6, value_cents=24_500)]
    assert len(schedule(season(visits)).assignments) == 2


@pytest.mark.parametrize("seed", range(6))
def test_money_that_is_offered_is_enough(seed):
    facts = replace(rich_season(seed, 40, budget=150_000), fund_budgets_cents={"park": 10**8, "county": 10**8})
    plan = schedule(facts, 100)
    asked = [entry for entry in plan.left_out if entry.change == "money"]
    standing = {each.visit for each in plan.assignments}
    for entry in asked[:3]:
        dollars = float(entry.would_help.split()[0].strip("$").replace(",", ""))
        alone = tuple(need for need in facts.visits if need.id in standing | {entry.visit})
        chains = tuple(each for each in facts.chains if {each.first, each.second} <= {need.id for need in alone})
        given = replace(facts, visits=alone, chains=chains, fixed=plan.assignments, previous=())
        assert schedule(given).left_out != ()
        assert schedule(replace(given, budget_cents=facts.budget_cents + round(dollars * 100) + 1)).left_out == ()


def test_it_names_the_fund_whose_money_is_short():
    facts = season([visit(fund="park")], budget_cents=90_000, fund_budgets_cents={"park": 35_000})
    entry = left_out(facts)
    assert entry.because == "The budget of fund park is used up by visits that are worth more for their cost."
    assert entry.would_help == "$10.00 more in the budget of fund park."
    entry = left_out(replace(facts, budget_cents=34_000))
    assert entry.would_help == "$20.00 more in the season's budget and $10.00 more in the budget of fund park."


def test_it_offers_no_first_visit_to_one_that_could_not_follow():
    chains = [Chain(first="v1", second="v2", least_days=1, most_days=5)]
    facts = season([visit("v1", skills={"diver"}), visit("v2", skills={"diver"})], chains=chains)
    entry = next(entry for entry in schedule(facts).left_out if entry.visit == "v2")
    assert (entry.constraint, entry.would_help) == ("skills", "No single change lets it in.")


def test_it_calls_no_visit_too_long_for_a_day_that_is_only_short():
    (short,) = schedule(season([visit(last_day=MONDAY)], [crew(other_hours=((MONDAY, 1.0),))])).left_out
    assert (short.constraint, short.change) == ("crew time", "crew day")
    (long,) = schedule(season([visit(hours=100)])).left_out
    assert long.constraint == "too long"
