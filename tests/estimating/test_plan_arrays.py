"""The planner's tables: which days of a first visit leave days for what comes after it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.plan import Chain
from estimating.plan_arrays import plan_arrays
from tests.estimating.planned import day, season, visit


def chain(first, second, least, most):
    return Chain(first=first, second=second, least_days=least, most_days=most)


def spanning(name, first, last):
    return visit(name, first_day=day(first), last_day=day(last))


def leads(name, facts):
    """Days from the season's first."""
    found = plan_arrays(facts)
    bits = found.leads[found.number[name]]
    return [number for number in range(found.days) if bits >> number & 1]


def test_it_leaves_days_for_the_second_within_its_lag():
    facts = season([spanning("cut", 0, 13), spanning("treat", 5, 6)], chains=[chain("cut", "treat", 2, 3)])
    assert leads("cut", facts) == [2, 3, 4]
    assert leads("treat", facts) == [5, 6]


def test_it_looks_along_the_whole_chain_and_at_every_second():
    needs = [spanning("cut", 0, 13), spanning("treat", 0, 13), spanning("look", 8, 8), spanning("seed", 3, 4)]
    chains = [chain("cut", "treat", 1, 2), chain("treat", "look", 4, 4), chain("cut", "seed", 1, 1)]
    assert leads("cut", season(needs, chains=chains)) == [2, 3]


def test_it_leaves_out_days_on_which_the_seconds_site_is_closed():
    needs = [spanning("cut", 0, 5), visit("treat", site="south", first_day=day(4), last_day=day(6))]
    facts = season(needs, chains=[chain("cut", "treat", 2, 2)], closed_days={"south": {day(5)}})
    assert leads("cut", facts) == [2, 4]


@pytest.mark.parametrize("last", [1, 2])
def test_it_falls_back_to_the_whole_window_where_no_day_does(last):
    facts = season([spanning("cut", 0, 2), spanning("treat", 0, last)], chains=[chain("cut", "treat", 3, 9)])
    assert leads("cut", facts) == [0, 1, 2]


@given(st.integers(0, 13), st.integers(0, 13), st.integers(0, 13), st.integers(0, 13), st.data())
def test_it_is_what_trying_every_pair_of_days_finds(a, b, c, d, data):
    least = data.draw(st.integers(0, 13))
    most = data.draw(st.integers(least, 20))
    firsts, seconds = range(min(a, b), max(a, b) + 1), range(min(c, d), max(c, d) + 1)
    facts = season(
        [spanning("cut", firsts[0], firsts[-1]), spanning("treat", seconds[0], seconds[-1])],
        chains=[chain("cut", "treat", least, most)],
    )
    tried = [first for first in firsts if any(least <= second - first <= most for second in seconds)]
    assert leads("cut", facts) == (tried or list(firsts))
