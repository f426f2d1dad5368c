import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact, UnknownCode
from estimating.plan import Assignment, Chain, split_hours, split_long_visits, split_visit
from tests.estimating.planned import crew, day, season, visit


def test_it_splits_a_big_visit_into_equal_parts_to_the_cent():
    parts = split_visit(visit(hours=25, value_cents=100_001, other_cents=1_000), 10)
    assert [part.id for part in parts] == ["v1/1", "v1/2", "v1/3"]
    assert sum(part.value_cents for part in parts) == 100_001
    assert sorted(part.other_cents for part in parts) == [333, 333, 334]
    assert {part.hours for part in parts} == {25 / 3}
    assert {part.prescription for part in parts} == {"p v1"}


def test_it_leaves_a_small_visit_alone():
    assert split_visit(visit(hours=10), 10) == (visit(hours=10),)


def test_it_splits_to_the_smallest_crew_that_is_able():
    crews = [crew("big", people=4), crew("small", people=2), crew("other", people=1, skills=set())]
    found = split_long_visits(season([visit(hours=40, skills={"applicator"})], crews))
    # Two people, eight hours, an hour's drive each: 14 person-hours a day.
    assert [part.hours for part in found.visits] == [pytest.approx(40 / 3)] * 3


def test_it_leaves_a_visit_that_no_crew_can_do():
    alone = season([visit(hours=40, skills={"diver"})])
    assert split_long_visits(alone) == alone


@given(st.floats(0.1, 1e4), st.floats(0.5, 100))
def test_it_splits_into_as_few_parts_as_fit(hours, most):
    parts = split_hours(hours, most)
    assert sum(parts) == pytest.approx(hours)
    assert max(parts) <= most * (1 + 1e-9)
    assert len(parts) == 1 or hours > most * (len(parts) - 1) * (1 - 1e-9)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: visit(hours=0),
        lambda: visit(last_day=day(-1)),
        lambda: visit(value_cents=-1),
        lambda: visit(other_cents=-1),
        lambda: crew(people=0),
        lambda: crew(hours_a_day=25),
        lambda: crew(cost_cents_per_hour=-1),
        lambda: season([visit(), visit()]),
        lambda: season([], [crew(), crew()]),
        lambda: season([], last_day=day(-1)),
        lambda: season([], drive_minutes={"north": -5}),
        lambda: split_hours(5, 0),
    ],
)
def test_it_refuses_what_cannot_be(wrong):
    with pytest.raises(InvalidFact):
        wrong()


def test_it_wants_a_drive_time_to_each_site():
    with pytest.raises(UnknownCode, match="no drive time"):
        season([visit(site="east")])


def test_it_gives_each_part_of_a_chain_the_lag():
    chains = [Chain(first="v1", second="v2", least_days=2, most_days=9)]
    found = split_long_visits(season([visit("v1", hours=25), visit("v2")], chains=chains))
    assert [(each.first, each.second) for each in found.chains] == [("v1/1", "v2"), ("v1/2", "v2")]


def test_it_leaves_a_fixed_visit_whole():
    found = split_long_visits(season([visit("v1", hours=25)], fixed=[Assignment("v1", "c1", day(0))]))
    assert [part.id for part in found.visits] == ["v1"]


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: visit(equipment={"sprayer": 0}),
        lambda: visit(own_log_sd=-1),
        lambda: crew(other_hours=((day(0), 25.0),)),
        lambda: Chain(first="v1", second="v2", least_days=5, most_days=4),
        lambda: season([visit()], budget_level=1.0),
        lambda: season([visit()], fixed=[Assignment("v1", "c1", day(40))]),
        lambda: season(
            [visit("v1"), visit("v2")],
            chains=[
                Chain(first="v1", second="v2", least_days=0, most_days=1),
                Chain(first="v2", second="v1", least_days=0, most_days=1),
            ],
        ),
    ],
)
def test_it_refuses_rules_that_cannot_be(wrong):
    with pytest.raises(InvalidFact):
        wrong()


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: season([visit(fund="park")]),
        lambda: season([visit(equipment={"sprayer": 1})]),
        lambda: season([visit()], fixed=[Assignment("v9", "c1", day(0))]),
        lambda: season([visit()], chains=[Chain(first="v1", second="v9", least_days=0, most_days=1)]),
    ],
)
def test_it_refuses_names_that_it_does_not_know(wrong):
    with pytest.raises(UnknownCode):
        wrong()
