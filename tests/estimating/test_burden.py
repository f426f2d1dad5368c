"""Loaded rates, match, indirect cost and punches: edges and refusals."""

from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.burden import loaded_rate_e4, loaded_year, match_cents
from estimating.errors import InvalidFact
from estimating.indirect import BaseLine, indirect_cents, mtdc_cents
from estimating.punches import elapsed_minutes, punch_rounded

NOON = datetime(2026, 6, 1, 12, 7, 31, tzinfo=UTC)
LIMITS = {"subaward_cap_cents": 50_000_00, "equipment_threshold_cents": 10_000_00}


@given(wage=st.integers(0, 10**6))
def test_a_wage_with_nothing_on_top_is_its_own_rate(wage):
    assert loaded_rate_e4(wage) == wage


@given(wage=st.integers(0, 10**6), fringe=st.integers(0, 9_000), hours=st.integers(1, 2_080))
def test_a_loaded_rate_is_never_below_its_wage(wage, fringe, hours):
    assert loaded_rate_e4(wage, fringe_e4=fringe, productive_hours=hours) >= wage


def test_it_leaves_out_of_the_base_what_does_not_belong():
    lines = [
        BaseLine("labor", 100_00),
        BaseLine("indirect", 15_00),
        BaseLine("rental", 70_00),
        BaseLine("other", 10_000_00, is_equipment=True),
        BaseLine("other", 9_999_99, is_equipment=True),
    ]
    assert mtdc_cents(lines, **LIMITS) == 100_00 + 9_999_99


def test_it_caps_each_subaward_over_all_of_its_lines():
    lines = [BaseLine("contract", 40_000_00, "S-1"), BaseLine("contract", 40_000_00, "S-1")]
    lines += [BaseLine("contract", 40_000_00, "S-2"), BaseLine("contract", -20_000_00, "S-1")]
    assert mtdc_cents(lines, **LIMITS) == 50_000_00 + 40_000_00


@given(cents=st.integers(0, 10**9), rate=st.integers(0, 10_000))
def test_it_takes_back_what_it_charged(cents, rate):
    assert indirect_cents(-cents, rate) == -indirect_cents(cents, rate)


def test_it_leaves_a_punch_alone_where_nothing_is_rounded():
    assert punch_rounded(NOON, 0) == NOON


def test_it_drops_seconds_and_keeps_the_zone():
    own = timezone(timedelta(hours=-5))
    rounded = punch_rounded(NOON.astimezone(own), 15)
    assert (rounded, rounded.tzinfo) == (NOON.replace(minute=0, second=0), own)


def test_it_rounds_into_the_next_hour():
    assert punch_rounded(NOON.replace(minute=53), 15) == NOON.replace(hour=13, minute=0, second=0)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: loaded_rate_e4(-1), "wage_e4"),
        (lambda: loaded_rate_e4(1, paid_hours=0), "paid_hours"),
        (lambda: loaded_rate_e4(1, productive_hours=0), "productive_hours"),
        (lambda: loaded_rate_e4(1, paid_hours=2000, productive_hours=2001), "productive_hours"),
        (lambda: loaded_rate_e4(1, fringe_e4=-1), "fringe_e4"),
        (lambda: loaded_year(Fraction(1), indirect_e4=-1), "indirect_e4"),
        (lambda: match_cents(-1, 1), "minutes"),
        (lambda: match_cents(1, 1, -1), "fringe_e4"),
        (lambda: mtdc_cents([], subaward_cap_cents=-1, equipment_threshold_cents=0), "subaward_cap_cents"),
        (lambda: indirect_cents(1, -1), "indirect_e4"),
        (lambda: elapsed_minutes(NOON.replace(tzinfo=None), NOON), "start"),
        (lambda: elapsed_minutes(NOON, NOON - timedelta(seconds=1)), "end"),
        (lambda: punch_rounded(NOON, 10), "minutes"),
    ],
)
def test_it_names_the_field_that_is_wrong(make, field):
    with pytest.raises(InvalidFact) as wrong:
        make()
    assert wrong.value.field == field
