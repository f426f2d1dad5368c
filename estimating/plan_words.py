"""How a plan's sentences say days, money, hours and counts."""

from collections.abc import Iterable
from datetime import date

from estimating.plan import PlanInput
from estimating.plan_arrays import Link

DAYS_PER_YEAR = 365


def day_words(given: PlanInput, day: date) -> str:
    """Such as Aug 3; with the year where the season is so long that it would be needed."""
    words = f"{day:%b} {day.day}"
    return f"{words}, {day.year}" if (given.last_day - given.first_day).days >= DAYS_PER_YEAR else words


def money_words(cents: int) -> str:
    """Whole dollars, such as $1,234; less than one in cents, such as $0.45."""
    return f"${cents / 100:,.2f}" if 0 < cents < 100 else f"${(cents + 50) // 100:,}"


def count_words(count: int, one: str) -> str:
    """Such as 1 day, 3 days."""
    return f"{count:,} {one}{'' if count == 1 else 's'}"


def listed(names: Iterable[str]) -> str:
    """Such as a, b and c."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def lag_words(link: Link) -> str:
    """Such as 21 to 45 days after."""
    most = count_words(link.most, "day")
    return f"{most} after" if link.least == link.most else f"{link.least} to {most} after"
