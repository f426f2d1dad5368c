"""Which minutes of a workweek are straight time, time and a half, double time."""

from collections.abc import Sequence

from estimating.pay_types import DAYS, PayRules, Worked


def _beyond(before: int, minutes: int, threshold: int | None) -> int:
    """How many of `minutes`, worked after `before`, lie beyond the threshold; none where there is no threshold."""
    return 0 if threshold is None else max(0, min(minutes, before + minutes - threshold))


def _day_thresholds(rules: PayRules, is_seventh: bool) -> tuple[int | None, int | None]:
    """Minutes of a day after which time and a half, and double time, begin.

    The seventh day in a row is overtime from its first minute, and where there is daily double time it begins there at
    the daily overtime threshold.
    """
    if not is_seventh:
        return rules.day_minutes, rules.day_double_minutes
    has_both = rules.day_minutes is not None and rules.day_double_minutes is not None
    return 0, rules.day_minutes if has_both else rules.day_double_minutes


def minutes_beyond(worked: Sequence[Worked], rules: PayRules) -> tuple[list[int], list[int]]:
    """Minutes at time and a half and minutes at double time, parallel to the pieces.

    Day by day in the order of time: beyond the day's thresholds first; then what is left as straight time counts toward
    the week, and what of it passes `week_minutes` is time and a half. A minute is overtime once: what the day made
    overtime does not count again toward the week (no pyramiding). Straight time never passes the week's threshold, so
    that the federal rule is always met.

    Sources: the week, 29 CFR 778.104/.105; daily overtime, daily double time, the seventh day and no pyramiding: common
    practice; Cal. Lab. Code 510 from memory.
    """
    half, double = [0] * len(worked), [0] * len(worked)
    is_seventh_due = rules.seventh_day and {piece.day for piece in worked if piece.minutes} == set(range(DAYS))
    straight_so_far = 0
    for day in range(DAYS):
        day_from, double_from = _day_thresholds(rules, is_seventh_due and day == DAYS - 1)
        today = 0
        for index, piece in enumerate(worked):
            if piece.day != day:
                continue
            double[index] = _beyond(today, piece.minutes, double_from)
            by_day = max(_beyond(today, piece.minutes, day_from) - double[index], 0)
            rest = piece.minutes - by_day - double[index]
            by_week = _beyond(straight_so_far, rest, rules.week_minutes)
            half[index] = by_day + by_week
            straight_so_far += rest - by_week
            today += piece.minutes
    return half, double
