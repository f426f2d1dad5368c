"""A workweek's pay: what holds of every week."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.pay import (
    FEDERAL,
    PayRules,
    Worked,
    fluctuating_week,
    pay_week,
    premium_spread,
    salaried_week,
    salary_week_cents,
)
from estimating.pay_types import E4
from estimating.pricing import to_cents

DAILY = PayRules(day_minutes=480, day_double_minutes=720, seventh_day=True)
rules = st.sampled_from(
    [FEDERAL, DAILY, PayRules(method="rate_worked"), PayRules(rounding="rate_first"), PayRules(week_minutes=2100)]
)
pieces = st.builds(
    Worked,
    key=st.just("p"),
    minutes=st.integers(0, 700),
    rate_e4=st.integers(0, 600_000),
    day=st.integers(0, 6),
)
weeks = st.lists(pieces, max_size=15)


@given(worked=weeks, rules=rules)
def test_it_sums_and_never_pays_less_than_straight_time(worked, rules):
    week = pay_week(worked, rules)
    assert week.total_cents == week.straight_cents + week.premium_cents >= week.straight_cents
    assert sum(line.cents for line in week.lines) == week.total_cents
    assert sum(week.overtime_by_piece) == week.overtime_minutes + week.double_minutes
    assert all(0 <= beyond <= p.minutes for beyond, p in zip(week.overtime_by_piece, worked, strict=True))


@given(worked=weeks, rules=rules)
def test_it_always_meets_the_federal_rule(worked, rules):
    assert sum(pay_week(worked, rules).overtime_by_piece) >= max(sum(p.minutes for p in worked) - 2400, 0)


@given(worked=weeks, rules=rules, at=st.integers(0, 15), day=st.integers(0, 6))
def test_it_looks_past_a_piece_of_no_minutes(worked, rules, at, day):
    with_none = [*worked[:at], Worked("none", 0, 123_456, day), *worked[at:]]
    one, other = pay_week(worked, rules), pay_week(with_none, rules)
    assert (one.total_cents, one.lines) == (other.total_cents, other.lines)


@given(worked=weeks, order=st.randoms(), rules=st.sampled_from([FEDERAL, DAILY]))
def test_it_does_not_mind_the_order_within_a_day(worked, order, rules):
    """By the average rate; by the rate of the overtime work the order is the point."""
    shuffled = sorted(order.sample(worked, len(worked)), key=lambda piece: piece.day)
    one, other = pay_week(worked, rules), pay_week(shuffled, rules)
    assert (one.total_cents, one.overtime_minutes) == (other.total_cents, other.overtime_minutes)


@given(worked=weeks, rate_e4=st.integers(0, 600_000), method=st.sampled_from(["weighted", "rate_worked"]))
def test_it_is_the_formula_of_one_rate_where_all_are_equal(worked, rate_e4, method):
    alike = [Worked(p.key, p.minutes, rate_e4, p.day) for p in worked]
    minutes, rate = sum(p.minutes for p in alike), Fraction(rate_e4, E4)
    exact = rate * Fraction(minutes, 60) + rate / 2 * Fraction(max(minutes - 2400, 0), 60)
    assert pay_week(alike, PayRules(method=method)).total_cents == to_cents(exact)


@given(worked=st.lists(pieces, max_size=3), bonus_cents=st.integers(0, 90_000))
def test_it_has_no_premium_up_to_forty_hours(worked, bonus_cents):
    has_work = any(piece.minutes for piece in worked)
    week = pay_week(worked, bonus_cents=bonus_cents if has_work else 0)
    assert (week.premium_cents, week.overtime_minutes) == (0, 0)


@given(worked=weeks, rules=rules, rule=st.sampled_from(["week", "overtime"]))
def test_it_spreads_the_premium_to_the_cent(worked, rules, rule):
    week = pay_week(worked, rules)
    shares = premium_spread(week, worked, rule)
    assert (len(shares), sum(shares)) == (len(worked), week.premium_cents)


def test_it_spreads_over_the_week_or_over_what_was_beyond():
    worked = [Worked("a", 2400, 100_000, 0), Worked("b", 600, 100_000, 6)]
    week = pay_week(worked)
    assert week.premium_cents == 50_00
    assert premium_spread(week, worked) == [40_00, 10_00]
    assert premium_spread(week, worked, "overtime") == [0, 50_00]


def test_it_takes_the_pieces_beyond_in_the_order_of_time():
    """Half of the rate of the work that was done after 40 h; the pieces come in any order of days."""
    worked = [Worked("late", 300, 200_000, 5), Worked("early", 2400, 100_000, 0)]
    week = pay_week(worked, PayRules(method="rate_worked"))
    assert (week.overtime_by_piece, week.premium_cents) == ((300, 0), 5 * 10_00)


def test_it_adds_the_bonus_to_the_rate_of_the_overtime_work():
    worked = [Worked("a", 2400, 100_000), Worked("b", 600, 200_000, 6)]
    week = pay_week(worked, PayRules(method="rate_worked"), bonus_cents=50_00)
    assert week.premium_cents == 10 * (20_00 + 1_00) // 2


def test_it_pays_a_long_day_once():
    """12 h and 13 h: 4 h of time and a half on both, double time beyond 12; 40 h in all are left as straight time."""
    days = [720, 780, 480, 480, 480]
    week = pay_week([Worked(str(d), m, 200_000, d) for d, m in enumerate(days)], DAILY)
    assert (week.overtime_minutes, week.double_minutes) == (2 * 240, 60)
    assert week.premium_cents == 8 * 10_00 + 20_00
    assert week.overtime_by_piece == (240, 300, 0, 0, 0)


def test_it_counts_hours_of_the_day_not_again_toward_the_week():
    """Six days of 9 h: 1 h a day, and of 48 h straight time 8 h by the week."""
    week = pay_week([Worked(str(d), 540, 200_000, d) for d in range(6)], PayRules(day_minutes=480))
    assert week.overtime_minutes == 6 * 60 + 8 * 60


@pytest.mark.parametrize(("last", "half", "double"), [(300, 300, 0), (600, 480, 120)])
def test_it_pays_a_seventh_day_in_a_row(last, half, double):
    days = [60] * 6 + [last]
    week = pay_week([Worked(str(d), m, 200_000, d) for d, m in enumerate(days)], DAILY)
    assert (week.overtime_minutes, week.double_minutes) == (half, double)


def test_it_needs_seven_days_for_a_seventh_day():
    worked = [Worked(str(d), 60, 200_000, d) for d in (0, 1, 2, 4, 5, 6)]
    assert pay_week(worked, DAILY).overtime_minutes == 0


def test_it_knows_double_time_without_time_and_a_half_by_the_day():
    week = pay_week([Worked("a", 780, 200_000)], PayRules(day_double_minutes=720))
    assert (week.overtime_minutes, week.double_minutes, week.premium_cents) == (0, 60, 20_00)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Worked("a", -1, 1), "minutes"),
        (lambda: Worked("a", 1, -1), "rate_e4"),
        (lambda: Worked("a", 1, 1, 7), "day"),
        (lambda: PayRules(method="none"), "method"),
        (lambda: PayRules(rounding="none"), "rounding"),
        (lambda: PayRules(week_minutes=2401), "week_minutes"),
        (lambda: PayRules(week_minutes=0), "week_minutes"),
        (lambda: PayRules(day_minutes=0), "day_minutes"),
        (lambda: PayRules(day_double_minutes=1441), "day_double_minutes"),
        (lambda: PayRules(day_minutes=600, day_double_minutes=480), "day_double_minutes"),
        (lambda: pay_week([], bonus_cents=-1), "bonus_cents"),
        (lambda: pay_week([], bonus_cents=1), "bonus_cents"),
        (lambda: premium_spread(pay_week([]), [], "none"), "rule"),
        (lambda: premium_spread(pay_week([]), [Worked("a", 1, 1)]), "worked"),
        (lambda: salary_week_cents(-1), "amount_cents"),
        (lambda: salary_week_cents(1, "day"), "every"),
        (lambda: salaried_week(-1, 1, 1), "salary_cents"),
        (lambda: salaried_week(1, 0, 1), "salary_minutes"),
        (lambda: fluctuating_week(1, -1), "worked_minutes"),
        (lambda: fluctuating_week(1, 1, week_minutes=2401), "week_minutes"),
        (lambda: fluctuating_week(1, 1, rounding="up"), "rounding"),
    ],
)
def test_it_names_the_field_that_is_wrong(make, field):
    with pytest.raises(InvalidFact) as wrong:
        make()
    assert wrong.value.field == field


def test_it_pays_nothing_for_nothing():
    assert pay_week([]).total_cents == fluctuating_week(0, 0).total_cents == 0


@given(salary=st.integers(0, 500_000), base=st.integers(1, 4000), minutes=st.integers(0, 5000))
def test_a_salaried_week_sums(salary, base, minutes):
    week = salaried_week(salary, base, minutes)
    assert sum(line.cents for line in week.lines) == week.total_cents >= week.straight_cents >= salary
