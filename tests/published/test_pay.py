"""Published answers about overtime pay. Where an answer was rounded on the way, both orders of rounding stand here."""

from fractions import Fraction

import pytest

from estimating.pay import PayRules, Worked, fluctuating_week, pay_week, salaried_week, salary_week_cents
from estimating.pricing import to_cents

RATE_FIRST = PayRules(rounding="rate_first")


def hours(*worked):
    """Pieces of (hours, dollars an hour) on one day after the other."""
    return [
        Worked(str(n), round(length * 60), round(rate * 10_000), min(n, 6)) for n, (length, rate) in enumerate(worked)
    ]


def test_it_pays_half_of_one_rate_on_the_hours_beyond_forty():
    # 29 CFR 778.110(a): $12 an hour, 46 h: 46 x 12 + 6 x 6 = 40 x 12 + 6 x 18 = $588.
    week = pay_week(hours((46, 12)))
    assert (week.straight_cents, week.premium_cents, week.total_cents) == (552_00, 36_00, 588_00)
    assert week.overtime_minutes == 6 * 60


def test_it_takes_a_bonus_into_the_regular_rate():
    # 29 CFR 778.110(b): the same with a bonus of $46: regular rate $13, overtime rate $19.50, total $637.
    week = pay_week(hours((46, 12)), bonus_cents=46_00)
    assert (week.regular_rate, week.regular_rate * Fraction(3, 2)) == (Fraction(13), Fraction("19.5"))
    assert week.total_cents == 637_00


@pytest.mark.parametrize(
    ("salary_cents", "length", "rate_cents", "overtime_cents"),
    [
        (182_70, 35, 522, 783),  # 29 CFR 778.113(a), text before 2011
        (220_80, 40, 552, 828),  # the same; its overtime rate by 1.5 x 5.52
        (300_00, 35, 857, 1286),  # University of Tennessee, MTAS-2091
    ],
)
@pytest.mark.parametrize("rounding", ["exact", "rate_first"])
def test_it_knows_the_rate_of_a_salaried_week(salary_cents, length, rate_cents, overtime_cents, rounding):
    week = salaried_week(salary_cents, length * 60, 41 * 60, rounding=rounding)
    assert to_cents(week.regular_rate) == rate_cents
    assert to_cents(week.regular_rate * Fraction(3, 2)) == overtime_cents


@pytest.mark.parametrize(("rounding", "total_cents"), [("rate_first", 237_12), ("exact", 237_14)])
def test_it_pays_a_short_salaried_week_beyond_its_hours(rounding, total_cents):
    # 29 CFR 778.322: $200 for 35 h, works 41: 200 + 5 x 5.71 + 1 x 8.57 = $237.12, the rates rounded first; exact
    # arithmetic gives $237.14 (computed).
    assert salaried_week(200_00, 35 * 60, 41 * 60, rounding=rounding).total_cents == total_cents


def test_it_owes_half_time_within_a_long_salaried_week():
    # 29 CFR 778.325: $275 for 55 h: rate $5, half time of $2.50 on hours 41 to 55, $7.50 beyond.
    at_55, at_56 = salaried_week(275_00, 55 * 60, 55 * 60), salaried_week(275_00, 55 * 60, 56 * 60)
    assert (at_55.regular_rate, at_55.premium_cents) == (Fraction(5), 15 * 2_50)
    assert at_56.total_cents - at_55.total_cents == 7_50
    # the same salary for a fixed 50 h: $5.50
    assert salaried_week(275_00, 50 * 60, 50 * 60).regular_rate == Fraction("5.5")


def test_it_averages_two_rates():
    # overtime-flsa.com (secondary), after 29 CFR 778.115: 35 h at $15 and 10 h at $7: 595 / 45 = $13.22; overtime
    # rate $19.83.
    week = pay_week(hours((35, 15), (10, 7)))
    assert (week.straight_cents, to_cents(week.regular_rate)) == (595_00, 13_22)
    assert to_cents(week.regular_rate * Fraction(3, 2)) == 19_83


def test_it_pays_eight_hours_of_overtime():
    # University of Tennessee, MTAS-2089: $400 for 40 h, 48 h worked: 8 x $15 = $120.
    week = pay_week(hours((48, 10)))
    assert week.total_cents - 400_00 == 120_00


def test_it_halves_the_rate_of_a_salary_for_whatever_hours():
    # University of Tennessee, MTAS-2090: $500 for a week of 50 h: $10, and 10 x $5 more.
    week = fluctuating_week(500_00, 50 * 60)
    assert (week.regular_rate, week.premium_cents) == (Fraction(10), 50_00)


@pytest.mark.parametrize(
    ("length", "rate_cents", "rate_first_cents", "exact_cents"),
    [
        (37.5, 16_00, 600_00, 600_00),
        (44, 13_64, 627_28, 627_27),
        (50, 12_00, 660_00, 660_00),
        (48, 12_50, 650_00, 650_00),
    ],
)
def test_it_pays_a_fluctuating_week(length, rate_cents, rate_first_cents, exact_cents):
    # 29 CFR 778.114, the example of $600 (from memory); the exact totals are computed.
    minutes = round(length * 60)
    assert to_cents(fluctuating_week(600_00, minutes).regular_rate) == rate_cents
    assert fluctuating_week(600_00, minutes, rounding="rate_first").total_cents == rate_first_cents
    assert fluctuating_week(600_00, minutes).total_cents == exact_cents


def test_it_rounds_and_does_not_cut_off():
    # twibc.com prints 480 / 45 as $10.66 (cut off) and $16 for 30 h at $10 and 15 h at $12; exact (computed): $10.67
    # shown, a premium of 5 x 5.3333 = 26.67, $506.67 in all. Rates rounded first: 5 x 5.34 (half of 10.67, half up).
    week = pay_week(hours((30, 10), (15, 12)))
    assert (to_cents(week.regular_rate), week.premium_cents, week.total_cents) == (10_67, 26_67, 506_67)
    assert pay_week(hours((30, 10), (15, 12)), RATE_FIRST).total_cents == 506_70


def test_it_may_pay_half_of_the_rate_of_the_overtime_work():
    # 29 CFR 778.419, FLSA 7(g)(2) (no numbers given): 35 h at $15, then 10 h at $7; the last 5 h are overtime, at half
    # of $7 (computed).
    week = pay_week(hours((35, 15), (10, 7)), PayRules(method="rate_worked"))
    assert week.premium_cents == 5 * 3_50


@pytest.mark.parametrize(
    ("amount_cents", "every", "expected"),
    [
        # 29 CFR 778.113(b): a month's salary x 12/52, half a month's x 24/52; the dollars are made up
        (520_00, "month", 120_00),
        (260_00, "half_month", 120_00),
        (240_00, "two_weeks", 120_00),
        (6240_00, "year", 120_00),
        (120_00, "week", 120_00),
    ],
)
def test_it_turns_a_salary_into_a_weeks(amount_cents, every, expected):
    assert salary_week_cents(amount_cents, every) == expected
