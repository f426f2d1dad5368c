"""What goes into a week's pay and what comes out: pieces of work, the rules, and the lines that open each figure."""

from dataclasses import dataclass
from fractions import Fraction

from estimating.errors import InvalidFact
from estimating.pricing import to_cents

# 29 CFR 778.104/.105 and FLSA 7(a): beyond 40 h of a fixed workweek of 168 h. No rule here may be weaker.
FEDERAL_WEEK_MINUTES = 2400
DAYS = 7
DAY_MINUTES = 1440
MINUTES_AN_HOUR = 60
E4 = 10_000
METHODS = ("weighted", "rate_worked")
ROUNDINGS = ("exact", "rate_first")


@dataclass(frozen=True)
class Worked:
    """A piece of work: whole minutes on a day of the workweek (0..6) at a rate of 1/10,000 dollar an hour.

    Pieces of one day stand in the order of time; `key` is the caller's own.
    """

    key: str
    minutes: int
    rate_e4: int
    day: int = 0

    def __post_init__(self) -> None:
        if self.minutes < 0:
            raise InvalidFact("must not be negative", "minutes")
        if self.rate_e4 < 0:
            raise InvalidFact("must not be negative", "rate_e4")
        if not 0 <= self.day < DAYS:
            raise InvalidFact(f"must be 0 to 6, the day of the workweek, not {self.day}", "day")


@dataclass(frozen=True)
class PayRules:
    """When work is overtime, and how its premium is figured and rounded. Thresholds are minutes.

    `week_minutes`: time and a half beyond; never more than the federal 2,400. `day_minutes`, `day_double_minutes`: time
    and a half, and double time, beyond so much in a day. `seventh_day`: time and a half on the seventh day worked in a
    row of one workweek.
    """

    week_minutes: int = FEDERAL_WEEK_MINUTES
    day_minutes: int | None = None
    day_double_minutes: int | None = None
    seventh_day: bool = False
    method: str = "weighted"
    rounding: str = "exact"

    def __post_init__(self) -> None:
        week_minutes_checked(self.week_minutes)
        for field in ("day_minutes", "day_double_minutes"):
            minutes = getattr(self, field)
            if minutes is not None and not 0 < minutes <= DAY_MINUTES:
                raise InvalidFact(f"must be 1 to {DAY_MINUTES}", field)
        both = None not in (self.day_minutes, self.day_double_minutes)
        if both and (self.day_double_minutes or 0) < (self.day_minutes or 0):
            raise InvalidFact("double time cannot begin before time and a half", "day_double_minutes")
        if self.method not in METHODS:
            raise InvalidFact(f"no method {self.method!r}; there are {', '.join(METHODS)}", "method")
        rounding_checked(self.rounding)


def week_minutes_checked(week_minutes: int) -> None:
    if not 0 < week_minutes <= FEDERAL_WEEK_MINUTES:
        raise InvalidFact(
            f"must be 1 to {FEDERAL_WEEK_MINUTES}: overtime begins after 40 h at the latest", "week_minutes"
        )


def rounding_checked(rounding: str) -> None:
    if rounding not in ROUNDINGS:
        raise InvalidFact(f"no rounding {rounding!r}; there are {', '.join(ROUNDINGS)}", "rounding")


def rate_as_used(rate: Fraction, rounding: str) -> Fraction:
    """A rate an hour as it is multiplied: exact, or rounded to the cent first."""
    return Fraction(to_cents(rate), 100) if rounding == "rate_first" else rate


FEDERAL = PayRules()


@dataclass(frozen=True)
class PayLine:
    """One figure of a week's pay: words, whole minutes x dollars an hour, and the cents that came of it."""

    words: str
    minutes: int
    rate: Fraction
    cents: int


@dataclass(frozen=True)
class WeekPay:
    """A week's pay. `total_cents` = straight + bonus + premium, and the lines' cents sum to it.

    `overtime_minutes` are those at time and a half, `double_minutes` those at double time. `overtime_by_piece` holds,
    parallel to the pieces given, the minutes beyond any threshold (both kinds); `double_by_piece` those at double time;
    `premium_by_piece` the exact dollars of premium that each piece brought about.
    """

    straight_cents: int
    bonus_cents: int
    premium_cents: int
    total_cents: int
    worked_minutes: int
    overtime_minutes: int
    double_minutes: int
    regular_rate: Fraction
    lines: tuple[PayLine, ...]
    overtime_by_piece: tuple[int, ...]
    double_by_piece: tuple[int, ...]
    premium_by_piece: tuple[Fraction, ...]
