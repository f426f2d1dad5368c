"""What payroll is to be told: each person's minutes of each day by code.

Overtime and double time are those of the latest revision of the person's workweek. They stand on the days on which a
threshold was passed; what finds no room there (a day sheet may say less than the close-outs that overtime is figured
from) goes on days from the week's end backwards: the last minutes of a week are those beyond its threshold.

Where time off takes the place of overtime pay, the minutes beyond the threshold are told as comp time alone, an hour
and a half for each hour (29 USC 207(o), from memory), on the last day worked of the week: they are not paid in money
too.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Sum

from estimating.pay_hours import minutes_beyond
from orders.costs.models import PayPeriod, PayPeriodLine, WorkweekPremium
from orders.costs.paid_time import PaidDay, paid_days
from orders.costs.pay_selectors import pay_policy
from orders.costs.workweeks import pieces_worked, week_rules, worked_of
from orders.crews.models import Person

A_WEEK = timedelta(days=6)  # from its first day to its last
CODES = tuple(code for code, _ in PayPeriodLine.CODES)
PAID_CODES = tuple(code for code in CODES if code != "comp")
BANKED = "banked"  # worked beyond the threshold, and paid by time off
Key = tuple[int, date, str]  # person, day, code


@dataclass(frozen=True)
class DayHours:
    """`by_code` has no zeros. Comp time is earned, not paid, and is no part of the total."""

    person: Person
    day: date
    has_sheet: bool
    by_code: Mapping[str, int]

    @property
    def minutes(self) -> int:
        return sum(self.by_code.get(code, 0) for code in PAID_CODES)

    @property
    def note(self) -> str:
        return "" if self.has_sheet else "no day sheet"


def hours_of(first: date, last: date) -> list[DayHours]:
    """By person's name and day. Workweeks that reach beyond the days are looked at whole."""
    days = paid_days(first - A_WEEK, last + A_WEEK)
    marks = _marks(days, first, last)
    return [_hours(day, marks[day.person.pk, day.day]) for day in days if first <= day.day <= last]


def facts_of(hours: Iterable[DayHours]) -> Counter[Key]:
    return Counter({(row.person.pk, row.day, code): minutes for row in hours for code, minutes in row.by_code.items()})


def told_so_far(first: date, last: date) -> Counter[Key]:
    """What payroll was told of these days in all exports, adjustments with it."""
    rows = PayPeriodLine.objects.filter(work_date__range=(first, last)).order_by()
    summed = rows.values_list("person", "work_date", "code").annotate(total=Sum("minutes"))
    return Counter({(person, day, code): int(minutes) for person, day, code, minutes in summed if minutes})


def told_otherwise(periods: Sequence[PayPeriod]) -> dict[Key, tuple[int, int]]:
    """Where what payroll was told of the periods' days (first) is not what is known now (second)."""
    if not periods:
        return {}
    first, last = min(one.first_day for one in periods), max(one.last_day for one in periods)
    days = {day for one in periods for day in _days(one.first_day, one.last_day)}
    facts, told = facts_of(hours_of(first, last)), told_so_far(first, last)
    found = {key for key in {*facts, *told} if key[1] in days}
    return {key: (told[key], facts[key]) for key in found if told[key] != facts[key]}


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=number) for number in range((last - first).days + 1))


def locked_elsewhere(period: PayPeriod) -> list[PayPeriod]:
    """Periods that payroll was told of already; what changed in them goes with this one."""
    return list(PayPeriod.objects.filter(state="exported").exclude(pk=period.pk).order_by("first_day"))


def _hours(day: PaidDay, marks: Counter[str]) -> DayHours:
    regular = day.worked - marks["overtime"] - marks["double"] - marks[BANKED]
    by_code = {"regular": regular, **marks, "leave": day.leave}
    return DayHours(day.person, day.day, day.has_sheet, {code: by_code[code] for code in CODES if by_code.get(code)})


def _marks(days: Sequence[PaidDay], first: date, last: date) -> dict[tuple[int, date], Counter[str]]:
    worked = {(day.person.pk, day.day): day for day in days if day.worked}
    marks: dict[tuple[int, date], Counter[str]] = defaultdict(Counter)
    for week in _weeks(first, last):
        its_days = _days(week.week_start, week.week_start + A_WEEK)
        within = [worked[week.person_id, day] for day in its_days if (week.person_id, day) in worked]
        for when, code, minutes in placed(week, within):
            is_banked = week.comp_minutes and code != "comp"
            marks[week.person_id, when][BANKED if is_banked else code] += minutes
    return marks


def _weeks(first: date, last: date) -> Iterable[WorkweekPremium]:
    """The latest revision of each person's workweeks that touch the days."""
    rows = WorkweekPremium.objects.filter(week_start__range=(first - A_WEEK, last)).select_related("person__role")
    return {(row.person_id, row.week_start): row for row in rows.order_by("revision")}.values()


def placed(week: WorkweekPremium, days: Sequence[PaidDay]) -> Iterable[tuple[date, str, int]]:
    """(day, code, minutes) of a workweek whose days stand in order. No day gets more than was worked on it."""
    left = {day.day: day.worked for day in days}
    rest = {"double": week.double_minutes, "overtime": week.overtime_minutes}
    wanted = [*_passed(week), *((day.day, code, rest[code]) for code in rest for day in reversed(days))]
    for day, code, minutes in wanted:
        taken = min(minutes, rest[code], left.get(day, 0))
        if taken:
            yield day, code, taken
            rest[code] -= taken
            left[day] -= taken
    if week.comp_minutes and days:
        yield days[-1].day, "comp", week.comp_minutes


def _passed(week: WorkweekPremium) -> Iterator[tuple[date, str, int]]:
    """The days on which a threshold was passed, as the week's own lines tell them. They do not tell double time from
    time and a half: where there is both, by the rules that the week was figured by."""
    if not week.double_minutes:
        parts = [line for line in week.lines if line["kind"] == "part"]
        yield from ((date.fromisoformat(part["day"]), "overtime", part["overtime_minutes"]) for part in parts)
        return
    pieces = pieces_worked(week.person, week.week_start)
    worked = worked_of(pieces, week.week_start, defaultdict(int))
    half, double = minutes_beyond(worked, week_rules(pieces, pay_policy(week.week_start)))
    for piece, at_half, at_double in zip(pieces, half, double, strict=True):
        yield piece.day, "double", at_double
        yield piece.day, "overtime", at_half
