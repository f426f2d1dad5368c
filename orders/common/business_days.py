"""Business days as rules on records count them: Monday to Friday, less the federal holidays.

The holidays are those of 5 U.S.C. 6103(a); one that falls on a Saturday is kept on the Friday before, on a Sunday on
the Monday after (5 U.S.C. 6103(b) and Executive Order 11582; both from memory). Days that a single state keeps are not
counted: a later due day than the rule's would be worse than an earlier one.
"""

from datetime import date, timedelta

SATURDAY, SUNDAY = 5, 6
JUNETEENTH_SINCE = 2021


def federal_holidays(year: int) -> list[date]:
    """The days on which the year's holidays are kept; New Year's Day may be kept in the year before."""
    fixed = [date(year, 1, 1), date(year, 7, 4), date(year, 11, 11), date(year, 12, 25)]
    if year >= JUNETEENTH_SINCE:
        fixed.append(date(year, 6, 19))
    floating = [
        _nth_weekday(year, 1, 0, 3),  # Birthday of Martin Luther King, Jr.: third Monday of January
        _nth_weekday(year, 2, 0, 3),  # Washington's Birthday: third Monday of February
        _last_monday_of_may(year),  # Memorial Day
        _nth_weekday(year, 9, 0, 1),  # Labor Day: first Monday of September
        _nth_weekday(year, 10, 0, 2),  # Columbus Day: second Monday of October
        _nth_weekday(year, 11, 3, 4),  # Thanksgiving Day: fourth Thursday of November
    ]
    return sorted([*map(_kept_on, fixed), *floating])


def _kept_on(day: date) -> date:
    shift = {SATURDAY: -1, SUNDAY: 1}.get(day.weekday(), 0)
    return day + timedelta(days=shift)


def _nth_weekday(year: int, month: int, weekday: int, nth: int) -> date:
    first = date(year, month, 1)
    return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (nth - 1))


def _last_monday_of_may(year: int) -> date:
    last = date(year, 5, 31)
    return last - timedelta(days=last.weekday())


def is_business_day(day: date) -> bool:
    return day.weekday() < SATURDAY and day not in {*federal_holidays(day.year), *federal_holidays(day.year + 1)}


def business_days_after(day: date, count: int) -> date:
    """The `count`-th business day after a day, which itself does not count."""
    found = day
    while count > 0:
        found += timedelta(days=1)
        count -= is_business_day(found)
    return found
