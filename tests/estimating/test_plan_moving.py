"""What a move breaks, against the independent check of the plan that it would make."""

from dataclasses import replace

import numpy as np
import pytest

from estimating.errors import UnknownCode
from estimating.plan import Assignment, Chain
from estimating.plan_check import check_plan
from estimating.plan_moving import breaks_of_move
from estimating.schedule import schedule
from tests.estimating.planned import MONDAY, crew, day, faults_with, rich_season, season, visit

WIDE = {"last_day": day(13)}
FACTS = season(
    [
        visit("cut", hours=6, fund="park", **WIDE),
        visit("treat", hours=6, equipment={"sprayer": 1}, skills={"applicator"}, **WIDE),
        visit("spray", hours=6, site="south", equipment={"sprayer": 1}, last_day=day(8)),
    ],
    [crew("c1", days_off={day(6)}, skills_away=((day(7), {"applicator"}),)), crew("c2", skills={"crew"})],
    chains=[Chain(first="cut", second="treat", least_days=3, most_days=6)],
    equipment={"sprayer": 1},
    fund_budgets_cents={"park": 24_000},
    closed_days={"north": {day(2)}},
)
PLACES = (Assignment("cut", "c1", day(1)), Assignment("treat", "c1", day(5)), Assignment("spray", "c2", day(4)))

# Words that the checker has for each kind of break.
FAULTS = {
    "window": ("outside its window", "outside the season"),
    "closed": ("is closed on",),
    "day off": ("does not work on",),
    "license": ("lacks skills",),
    "hours": ("more than its",),
    "chain": ("which it comes after", "days after"),
    "equipment": ("are out on",),
    "money": ("over the budget", "over its budget"),
}


def kinds(name, crew_id, date, *, facts=FACTS, places=PLACES):
    return [found.kind for found in breaks_of_move(facts, places, [name], crew_id, date)]


@pytest.mark.parametrize(
    ("move", "expected"),
    [
        (("cut", "c1", day(1)), []),
        (("cut", "c2", day(1)), []),
        (("spray", "c2", day(9)), ["window"]),
        (("cut", "c1", day(2)), ["closed"]),
        (("cut", "c1", day(3)), ["chain"]),
        (("treat", "c1", day(6)), ["day off"]),
        (("treat", "c1", day(7)), ["license"]),
        (("treat", "c2", day(5)), ["license"]),
        (("treat", "c1", day(8)), ["chain"]),
        (("spray", "c2", day(5)), ["equipment"]),
        (("treat", "c1", day(4)), ["equipment"]),
        (("spray", "c1", day(20)), ["window"]),
        (("spray", "c9", day(9)), ["window", "nobody"]),
    ],
)
def test_it_names_what_a_move_breaks(move, expected):
    assert kinds(*move) == expected


@pytest.mark.parametrize(
    ("move", "words"),
    [
        (("spray", "c2", day(9)), "Mar 10 is outside its window, Mar 1 to Mar 9."),
        (("spray", "c2", day(20)), "Mar 21 is outside the season."),
        (("cut", "c1", day(2)), "Site north is closed on Mar 3."),
        (("treat", "c1", day(6)), "Crew c1 does not work on Mar 7."),
        (("treat", "c2", day(5)), "Crew c2 lacks applicator on Mar 6."),
        (("cut", "c1", day(3)), "Visit treat must come 3 to 6 days after it, which is on Mar 6: that would be 2 days."),
        (("treat", "c1", day(8)), "It must come 3 to 6 days after visit cut, which is on Mar 2: that would be 7 days."),
        (("spray", "c2", day(5)), "2 of sprayer would be out on Mar 6, but there are only 1."),
        (("spray", "c9", day(1)), "Crew c9 has no people this season."),
    ],
)
def test_it_says_so_in_plain_words(move, words):
    name, *place = move
    assert [found.words for found in breaks_of_move(FACTS, PLACES, [name], *place)] == [words]


def test_it_says_by_how_much_a_day_is_too_long():
    facts = season([visit("v1", hours=9), visit("v2", hours=6)])
    standing = (Assignment("v1", "c1", MONDAY), Assignment("v2", "c1", day(1)))
    (found,) = breaks_of_move(facts, standing, ["v2"], "c1", MONDAY)
    # Nine and six person-hours and an hour's drive for each of two people.
    assert found.words == "Crew c1 would work 17.0 person-hours on Mar 1 with the drive, 1.0 more than its day holds."


def test_it_says_by_how_much_a_budget_is_passed():
    dear = replace(FACTS, crews=(FACTS.crews[0], crew("c2", cost_cents_per_hour=40_000)), budget_level=0.8)
    (found,) = breaks_of_move(dear, PLACES, ["cut"], "c2", day(1))
    words = "The plan would take $2,960 more than the budget of fund park at the 80% point of its range of cost."
    assert found.words == words


def test_it_says_of_visits_together_once_and_in_full_what_they_break():
    two = [visit(f"v{number}", hours=9, fund="park", other_cents=500, last_day=MONDAY) for number in (1, 2)]
    facts = season(two, [crew("c1"), crew("dear", cost_cents_per_hour=9_000)], fund_budgets_cents={"park": 100_000})
    places = [Assignment("v1", "c1", MONDAY), Assignment("v2", "c1", day(1))]
    found = breaks_of_move(facts, places, ["v1", "v2"], "dear", day(2))
    # Nine person-hours each and an hour's drive for each of two people: 20 at $90, and $5 for each.
    assert [(each.kind, each.words) for each in found] == [
        ("window", "Mar 3 is outside its window, Mar 1 to Mar 1."),
        ("hours", "Crew dear would work 20.0 person-hours on Mar 3 with the drive, 4.0 more than its day holds."),
        ("money", "The plan would take $810 more than the budget of fund park."),
    ]


def test_it_tells_what_a_budget_was_passed_by_already():
    two = [visit(f"v{number}", hours=9, fund="park", other_cents=500) for number in (1, 2)]
    facts = season(two, [crew("c1"), crew("dear", cost_cents_per_hour=9_000)], fund_budgets_cents={"park": 10_000})
    places = [Assignment("v1", "c1", MONDAY), Assignment("v2", "c1", day(1))]
    # Eleven person-hours each with the drive: at $30 both are $670 with $5 for each; the second at $90 makes $1,330.
    (found,) = breaks_of_move(facts, places, ["v2"], "dear", day(2))
    assert found.words == "The plan would take $1,230 more than the budget of fund park; it takes $570 more already."


def test_it_moves_both_ends_of_a_chain_together():
    chains = [Chain(first="cut", second="treat", least_days=0, most_days=2)]
    facts = season([visit("cut", hours=2), visit("treat", hours=2)], chains=chains)
    places = [Assignment("cut", "c1", MONDAY), Assignment("treat", "c1", MONDAY)]
    assert kinds("treat", "c1", day(3), facts=facts, places=places) == ["chain"]
    assert breaks_of_move(facts, places, ["cut", "treat"], "c1", day(3)) == ()


def test_it_takes_a_visit_that_was_left_out():
    assert kinds("treat", "c1", day(5), places=PLACES[:1]) == []
    assert kinds("treat", "c1", day(5), places=()) == ["chain"]


def test_it_moves_a_fixed_visit_too():
    fixed = replace(FACTS, fixed=(PLACES[2],))
    assert kinds("spray", "c2", day(3), facts=fixed) == []


def test_it_refuses_what_it_does_not_know():
    with pytest.raises(UnknownCode, match="v9"):
        kinds("v9", "c1", MONDAY)
    with pytest.raises(UnknownCode, match="v9"):
        kinds("cut", "c1", MONDAY, places=[Assignment("v9", "c1", MONDAY)])


def moves(facts, plan, random, count):
    """Random places for visits that are not fixed."""
    standing = {entry.visit for entry in facts.fixed}
    free = [need.id for need in facts.visits if need.id not in standing]
    for _ in range(count):
        name, supply = str(random.choice(free)), facts.crews[int(random.integers(len(facts.crews)))]
        yield name, supply.id, day(int(random.integers(0, 15)))


@pytest.mark.parametrize("seed", range(40))
def test_it_finds_what_the_check_finds(seed):
    facts = rich_season(seed, 25, budget=(None, 200_000, 300_000)[seed % 3], level=0.7)
    # The check lets a fixed second come whenever it does; a person is told.
    standing = {entry.visit for entry in facts.fixed}
    facts = replace(facts, chains=tuple(each for each in facts.chains if each.second not in standing))
    plan = schedule(facts, 30)
    assert check_plan(facts, plan) == ()
    for move in moves(facts, plan, np.random.default_rng(seed), 25):
        faults = faults_with(facts, plan, *move)
        found = {each.kind for each in breaks_of_move(facts, plan.assignments, [move[0]], *move[1:])}
        said = {kind for kind, words in FAULTS.items() if any(word in fault for word in words for fault in faults)}
        assert all(any(word in fault for words in FAULTS.values() for word in words) for fault in faults)
        assert found == (said if move[2] <= facts.last_day else {"window"})
