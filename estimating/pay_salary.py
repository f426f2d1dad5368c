"""Pay of salaried weeks: a salary turned into a week's, a salary for fixed hours, a salary for fluctuating hours."""

from fractions import Fraction

from estimating.errors import InvalidFact
from estimating.pay_types import (
    FEDERAL_WEEK_MINUTES,
    MINUTES_AN_HOUR,
    PayLine,
    WeekPay,
    rate_as_used,
    rounding_checked,
    week_minutes_checked,
)
from estimating.pricing import split_cents, to_cents

# 29 CFR 778.113(b): a month's salary x 12 / 52, half a month's x 24 / 52.
WEEKS_OF = {
    "week": Fraction(1),
    "two_weeks": Fraction(1, 2),
    "half_month": Fraction(24, 52),
    "month": Fraction(12, 52),
    "year": Fraction(1, 52),
}


def salary_week_cents(amount_cents: int, every: str = "week") -> int:
    """A salary's share of one week, cents: amount x 12/52 of a month's, 24/52 of half a month's, 1/2, 1/52 of a year's.

    Source: 29 CFR 778.113(b); two weeks and a year by the same reasoning. InvalidFact: below zero, unknown `every`.
    """
    if amount_cents < 0:
        raise InvalidFact("must not be negative", "amount_cents")
    if every not in WEEKS_OF:
        raise InvalidFact(f"no such span {every!r}; there are {', '.join(WEEKS_OF)}", "every")
    return to_cents(Fraction(amount_cents, 100) * WEEKS_OF[every])


def salaried_week(
    salary_cents: int,
    salary_minutes: int,
    worked_minutes: int,
    *,
    week_minutes: int = FEDERAL_WEEK_MINUTES,
    rounding: str = "exact",
) -> WeekPay:
    """A salary that pays the straight time of a fixed number of hours a week.

        regular rate = salary / salary hours
        straight     = salary + regular rate x hours beyond the salary's
        premium      = regular rate / 2 x hours beyond the week's threshold

    The salary is paid whole where fewer hours are worked. Sources: 29 CFR 778.322 (a salary for fewer than 40 h) and
    778.325 (for more: half time up to the salary's hours, time and a half beyond). InvalidFact: negative figures, a
    salary for no hours, a threshold above 40 h, unknown rounding.
    """
    _salary_checked(salary_cents, worked_minutes, week_minutes, rounding)
    if salary_minutes <= 0:
        raise InvalidFact("must be more than 0", "salary_minutes")
    regular = rate_as_used(Fraction(salary_cents * MINUTES_AN_HOUR, 100 * salary_minutes), rounding)
    extra = max(worked_minutes - salary_minutes, 0)
    lines = [("Salary", min(worked_minutes, salary_minutes), regular, Fraction(salary_cents, 100))]
    if extra:
        lines.append(("Hours beyond the salary's", extra, regular, regular * Fraction(extra, MINUTES_AN_HOUR)))
    return _week(lines, worked_minutes, week_minutes, regular, rounding)


def fluctuating_week(
    salary_cents: int, worked_minutes: int, *, week_minutes: int = FEDERAL_WEEK_MINUTES, rounding: str = "exact"
) -> WeekPay:
    """A salary that pays the straight time of however many hours a week has.

        regular rate = salary / hours worked;   premium = regular rate / 2 x hours beyond the week's threshold

    Source: 29 CFR 778.114 (from memory). InvalidFact: negative figures, a threshold above 40 h, unknown rounding.
    """
    _salary_checked(salary_cents, worked_minutes, week_minutes, rounding)
    exact = Fraction(salary_cents * MINUTES_AN_HOUR, 100 * worked_minutes) if worked_minutes else Fraction(0)
    regular = rate_as_used(exact, rounding)
    return _week(
        [("Salary", worked_minutes, regular, Fraction(salary_cents, 100))],
        worked_minutes,
        week_minutes,
        regular,
        rounding,
    )


def _salary_checked(salary_cents: int, worked_minutes: int, week_minutes: int, rounding: str) -> None:
    if salary_cents < 0:
        raise InvalidFact("must not be negative", "salary_cents")
    if worked_minutes < 0:
        raise InvalidFact("must not be negative", "worked_minutes")
    week_minutes_checked(week_minutes)
    rounding_checked(rounding)


def _week(
    straight: list[tuple[str, int, Fraction, Fraction]],
    worked_minutes: int,
    week_minutes: int,
    regular: Fraction,
    rounding: str,
) -> WeekPay:
    """The total is rounded once and straight time too; the premium is what lies between."""
    overtime = max(worked_minutes - week_minutes, 0)
    half_rate = rate_as_used(regular / 2, rounding)
    premium = half_rate * Fraction(overtime, MINUTES_AN_HOUR)
    earned = sum((dollars for _, _, _, dollars in straight), Fraction(0))
    straight_cents, total_cents = to_cents(earned), to_cents(earned + premium)
    shares = split_cents(straight_cents, [dollars for _, _, _, dollars in straight])
    lines = [
        PayLine(words, minutes, rate, cents) for (words, minutes, rate, _), cents in zip(straight, shares, strict=True)
    ]
    if overtime:
        lines.append(PayLine("Half of the regular rate on overtime", overtime, half_rate, total_cents - straight_cents))
    return WeekPay(
        straight_cents=straight_cents,
        bonus_cents=0,
        premium_cents=total_cents - straight_cents,
        total_cents=total_cents,
        worked_minutes=worked_minutes,
        overtime_minutes=overtime,
        double_minutes=0,
        regular_rate=regular,
        lines=tuple(lines),
        overtime_by_piece=(overtime,),
        double_by_piece=(0,),
        premium_by_piece=(premium,),
    )
