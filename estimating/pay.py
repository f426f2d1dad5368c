"""A workweek's pay: straight time, bonus, and the overtime premium, which is what is above straight time.

    straight     = sum over the pieces of hours x rate
    regular rate = (straight + bonus) / hours worked
    premium      = regular rate / 2 x hours at time and a half + regular rate x hours at double time    ("weighted")
                 = the same with each overtime piece's own rate, and the bonus's share an hour          ("rate_worked")

Amounts are exact ratios; the total is rounded once, half up, straight time too, and the premium lies between, so that
the three always sum. Rounding "rate_first" rounds the regular rate, and its half, to the cent before they are
multiplied, as many published answers do.

Sources: 29 CFR 778.110(a), (b) (one rate, bonus), 778.115 (two or more rates), 778.419 and FLSA 7(g)(2) (by agreement,
half of the rate of the work done in overtime hours). Daily rules: see `pay_hours.minutes_beyond`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from estimating.errors import InvalidFact
from estimating.pay_hours import minutes_beyond
from estimating.pay_salary import fluctuating_week, salaried_week, salary_week_cents
from estimating.pay_types import E4, FEDERAL, MINUTES_AN_HOUR, PayLine, PayRules, WeekPay, Worked, rate_as_used
from estimating.pricing import split_cents, to_cents

__all__ = [
    "FEDERAL",
    "PayLine",
    "PayRules",
    "WeekPay",
    "Worked",
    "fluctuating_week",
    "pay_week",
    "premium_spread",
    "salaried_week",
    "salary_week_cents",
]

SPREADS = ("week", "overtime")
HALF = Fraction(1, 2)


@dataclass(frozen=True)
class _Figure:
    """A line before it is rounded: its exact dollars."""

    words: str
    minutes: int
    rate: Fraction
    dollars: Fraction


def pay_week(worked: Sequence[Worked], rules: PayRules = FEDERAL, *, bonus_cents: int = 0) -> WeekPay:
    """Pay of one workweek from its pieces, in cents, with every figure opened. Formulas and sources: see the module.

    Units: whole minutes, 1/10,000 dollar an hour, cents. `bonus_cents`: a bonus that was promised for this week's work
    and so belongs to the regular rate. InvalidFact: a negative bonus, a bonus for no work; the pieces and rules check
    themselves.
    """
    minutes = sum(piece.minutes for piece in worked)
    if bonus_cents < 0:
        raise InvalidFact("must not be negative", "bonus_cents")
    if bonus_cents and not minutes:
        raise InvalidFact("a bonus for the week's work needs work in the week", "bonus_cents")
    straight = _straight_lines(worked)
    earned = sum((line.dollars for line in straight), Fraction(0))
    bonus = Fraction(bonus_cents, 100)
    regular = rate_as_used((earned + bonus) * MINUTES_AN_HOUR / minutes, rules.rounding) if minutes else Fraction(0)
    half, double = minutes_beyond(worked, rules)
    bases = _premium_bases(worked, rules, regular, bonus * MINUTES_AN_HOUR / minutes if minutes else Fraction(0))
    by_piece = tuple(_premium(*each, rules.rounding) for each in zip(bases, half, double, strict=True))
    premium = sum(by_piece, Fraction(0))
    straight_cents, total_cents = to_cents(earned), to_cents(earned + bonus + premium)
    premium_cents = total_cents - straight_cents - bonus_cents
    lines = [*_rounded(straight, straight_cents)]
    if bonus_cents:
        lines.append(PayLine("Bonus of the week", 0, Fraction(0), bonus_cents))
    lines += _rounded(_premium_lines(bases, half, double, rules), premium_cents)
    return WeekPay(
        straight_cents=straight_cents,
        bonus_cents=bonus_cents,
        premium_cents=premium_cents,
        total_cents=total_cents,
        worked_minutes=minutes,
        overtime_minutes=sum(half),
        double_minutes=sum(double),
        regular_rate=regular,
        lines=tuple(lines),
        overtime_by_piece=tuple(one + two for one, two in zip(half, double, strict=True)),
        double_by_piece=tuple(double),
        premium_by_piece=by_piece,
    )


def premium_spread(week: WeekPay, worked: Sequence[Worked], rule: str = "week") -> list[int]:
    """The premium's cents parallel to the week's pieces; they sum to `premium_cents`.

    "week": by minutes over all work, because any hour of the week may have brought the overtime about. "overtime": over
    the pieces beyond a threshold, by the premium that each brought. Common practice. InvalidFact: an unknown rule,
    pieces other than the week's.
    """
    if rule not in SPREADS:
        raise InvalidFact(f"no rule {rule!r}; there are {', '.join(SPREADS)}", "rule")
    if len(worked) != len(week.premium_by_piece):
        raise InvalidFact("are not the pieces that the week was figured from", "worked")
    weights = [piece.minutes for piece in worked] if rule == "week" else week.premium_by_piece
    return split_cents(week.premium_cents, weights)


def _hours(minutes: int) -> Fraction:
    return Fraction(minutes, MINUTES_AN_HOUR)


def _straight_lines(worked: Sequence[Worked]) -> list[_Figure]:
    """One line a rate, in the order in which the rates first appear."""
    by_rate: dict[int, int] = {}
    for piece in worked:
        if piece.minutes:
            by_rate[piece.rate_e4] = by_rate.get(piece.rate_e4, 0) + piece.minutes
    return [
        _Figure("Straight time", minutes, Fraction(rate, E4), _hours(minutes) * Fraction(rate, E4))
        for rate, minutes in by_rate.items()
    ]


def _premium_bases(
    worked: Sequence[Worked], rules: PayRules, regular: Fraction, bonus_an_hour: Fraction
) -> list[Fraction]:
    """The rate that each piece's premium is a half, or the whole, of."""
    if rules.method == "weighted":
        return [regular] * len(worked)
    return [rate_as_used(Fraction(piece.rate_e4, E4) + bonus_an_hour, rules.rounding) for piece in worked]


def _premium(base: Fraction, half: int, double: int, rounding: str) -> Fraction:
    return rate_as_used(base * HALF, rounding) * _hours(half) + base * _hours(double)


def _premium_lines(
    bases: Sequence[Fraction], half: Sequence[int], double: Sequence[int], rules: PayRules
) -> list[_Figure]:
    """One line a rate and kind of premium."""
    whose = "the regular rate" if rules.method == "weighted" else "the rate of the overtime work"
    sums: dict[tuple[str, Fraction], int] = {}
    for base, at_half, at_double in zip(bases, half, double, strict=True):
        for words, rate, minutes in (
            (f"Premium: half of {whose}", rate_as_used(base * HALF, rules.rounding), at_half),
            (f"Premium of double time: {whose} once more", base, at_double),
        ):
            if minutes:
                sums[words, rate] = sums.get((words, rate), 0) + minutes
    return [_Figure(words, minutes, rate, rate * _hours(minutes)) for (words, rate), minutes in sums.items()]


def _rounded(figures: Sequence[_Figure], cents: int) -> list[PayLine]:
    """The figures' lines with cents that sum to what was rounded once."""
    shares = split_cents(cents, [figure.dollars for figure in figures])
    return [
        PayLine(figure.words, figure.minutes, figure.rate, share) for figure, share in zip(figures, shares, strict=True)
    ]
