"""A person's workweek: which days it has, what was worked on them, and what becomes of it as pay.

A workweek is fixed by the pay policy: weekday, minute and zone of the program. Paid time knows its day and not its
hour, so that a day counts with the workweek in which most of it lies: where the week begins after noon, its first
weekday belongs to the week before. Each day goes by the policy of that day.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.pay import Worked
from estimating.pay_types import PayRules
from orders.costs.models import CompTimeAgreement, OvertimeRule, PayPolicy
from orders.costs.pay_selectors import overtime_rule, pay_policy
from orders.crews.models import Person
from orders.field.models import DayLine, DaySheet
from orders.planning.models import Prescription, Visit
from orders.sites.models import Jurisdiction
from orders.workorders.models import TimeEntry, WorkOrder

NOON = 720
LAST = timedelta(days=6)
OFF_ORDERS = ("shop", "training", "repair", "leave")
SHARED = ("drive", "rain")
# Holidays and leave are paid and not worked (29 CFR 778.218).
NOT_WORKED = frozenset({"leave"})


@dataclass(frozen=True)
class Piece:
    """Minutes of one person and day, on one visit of an order or by one code of time that is no order."""

    day: date
    minutes: int
    code: str = "work"
    order: WorkOrder | None = None
    visit: Visit | None = None
    prescription: Prescription | None = None
    crew_name: str = ""

    @property
    def key(self) -> str:
        """The same for the same work, whichever statement told of it."""
        visit = self.visit.public_id if self.visit else ""
        return f"{self.day}/{self.code}/{visit}/{self.prescription.public_id if self.prescription else ''}"

    @property
    def jurisdiction(self) -> Jurisdiction | None:
        return self.visit.site.jurisdiction if self.visit else None


def week_start(day: date) -> date:
    """The first day of the workweek that a day's work counts with."""
    policy = pay_policy(day)
    first = (policy.week_starts_on + (policy.week_starts_minute > NOON)) % 7
    return day - timedelta(days=(day.weekday() - first) % 7)


def lines_off_orders(sheet: DaySheet) -> list[DayLine]:
    """Paid time that is no order. Drive and standby are an order's where one is named or bears a share of them."""
    lines = sheet.lines.prefetch_related("shares").order_by("id")
    return [line for line in lines if line.code in OFF_ORDERS or _is_nobodys(line)]


def _is_nobodys(line: DayLine) -> bool:
    return line.code in SHARED and line.order_id is None and not line.shares.all()


def pieces_worked(person: Person, start: date) -> list[Piece]:
    """What the person worked in a workweek, from the standing close-outs and day sheets; leave is no hours worked.

    In the order of days; of one day, orders by number, then time that is no order. Work of one day on one prescription
    and visit is one piece.
    """
    summed: dict[str, Piece] = {}
    for piece in [*_on_orders(person, start), *_off_orders(person, start)]:
        before = summed.get(piece.key)
        told = {**piece.__dict__, "minutes": piece.minutes + before.minutes} if before else piece.__dict__
        summed[piece.key] = Piece(**told)
    kept = [piece for piece in summed.values() if week_start(piece.day) == start]
    return sorted(kept, key=_place)


def _place(piece: Piece) -> tuple[date, bool, int, str]:
    return piece.day, piece.order is None, piece.order.number or 0 if piece.order else 0, piece.key


def _on_orders(person: Person, start: date) -> Iterator[Piece]:
    rows = TimeEntry.objects.filter(close_out__amended_by__isnull=True, person=person)
    rows = rows.filter(work_date__range=(start, start + LAST))
    named = "visit__site__jurisdiction", "prescription", "close_out__order__site", "close_out__order__crew"
    for row in rows.select_related(*named).prefetch_related("visit__shares__prescription__method").order_by("id"):
        yield Piece(row.work_date, row.minutes, "work", row.close_out.order, row.visit, row.prescription)


def _off_orders(person: Person, start: date) -> Iterator[Piece]:
    sheets = DaySheet.objects.filter(amended_by__isnull=True, person=person, work_date__range=(start, start + LAST))
    for sheet in sheets.select_related("crew").order_by("work_date"):
        for line in lines_off_orders(sheet):
            if line.code not in NOT_WORKED:
                yield Piece(sheet.work_date, line.minutes, line.code, crew_name=sheet.crew.name)


def worked_of(pieces: Sequence[Piece], start: date, rates: dict[date, int]) -> list[Worked]:
    """`rates`: the wage of each day, 1/10,000 dollars an hour."""
    return [Worked(piece.key, piece.minutes, rates[piece.day], (piece.day - start).days) for piece in pieces]


def week_rules(pieces: Iterable[Piece], policy: PayPolicy) -> PayRules:
    """The strictest of the week: each limit is the lowest that the federal rule, or the rule of any site on a day of
    work there, sets. A week on the ground of two jurisdictions never pays less than either would (29 USC 218(a): no
    rule excuses from a stricter one)."""
    asked = {(piece.jurisdiction, piece.day) for piece in pieces}
    rules = [rule for where, day in asked if (rule := overtime_rule(where, day))]
    return PayRules(
        week_minutes=min((rule.week_minutes for rule in rules), default=PayRules.week_minutes),
        day_minutes=_lowest(rules, "day_minutes"),
        day_double_minutes=_lowest(rules, "day_double_minutes"),
        seventh_day=any(rule.seventh_day for rule in rules),
        method=policy.overtime_method,
        rounding=policy.rounding,
    )


def _lowest(rules: Iterable[OvertimeRule], field: str) -> int | None:
    told = [minutes for rule in rules if (minutes := getattr(rule, field)) is not None]
    return min(told, default=None)


def takes_time_off(person: Person, start: date, policy: PayPolicy) -> bool:
    """Whether time off takes the place of the premium: the policy allows it, and an agreement made before the work
    covers the whole workweek (29 USC 207(o), from memory)."""
    if not policy.comp_time:
        return False
    running = CompTimeAgreement.objects.filter(person=person, first_day__lte=start)
    return any(one.last_day is None or one.last_day >= start + LAST for one in running)
