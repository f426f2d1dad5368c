"""How all of a person's paid time of some days fell on funds and awards: minutes, and shares that sum to 100%."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from estimating.pricing import split_cents
from orders.costs.models import EffortStatement, LedgerEntry
from orders.costs.paid_time import PaidPart, paid_days, spans_standing
from orders.crews.models import Person

WHOLE_E4 = 10_000
ON_ORDERS = "orders"
Payer = tuple[int | None, int | None]  # fund, award
NOBODY: Payer = (None, None)


@dataclass(frozen=True)
class Line:
    fund_id: int | None
    award_id: int | None
    activity: str
    minutes: int
    share_e4: int


@dataclass(frozen=True)
class Effort:
    """`lacking`: days with paid or measured time and no day sheet."""

    lines: tuple[Line, ...]
    lacking: tuple[date, ...]

    @property
    def minutes(self) -> int:
        return sum(line.minutes for line in self.lines)


def effort_of(person: Person, first: date, last: date) -> Effort:
    days = paid_days(first, last, person)
    payers = _Payers(person, first, last)
    summed: Counter[tuple[Payer, str]] = Counter()
    for day in days:
        for part in day.parts:
            activity = ON_ORDERS if part.order_id else part.code
            for payer, minutes in payers.of(day.day, part):
                summed[payer, activity] += minutes
    with_sheet = {day.day for day in days if day.has_sheet}
    measured = spans_standing(first, last).filter(person=person).values_list("work_date", flat=True)
    lacking = sorted({*measured, *(day.day for day in days)} - with_sheet)
    return Effort(tuple(_lines(summed)), tuple(lacking))


def _lines(summed: Counter[tuple[Payer, str]]) -> Iterable[Line]:
    keys = sorted((key for key in summed if summed[key]), key=_place)
    shares = split_cents(WHOLE_E4, [summed[key] for key in keys]) if keys else []
    for key, share_e4 in zip(keys, shares, strict=True):
        (fund, award), activity = key
        yield Line(fund, award, activity, summed[key], share_e4)


def _place(key: tuple[Payer, str]) -> tuple[int, int, bool, str]:
    (fund, award), activity = key
    return fund or 0, award or 0, activity != ON_ORDERS, activity


class _Payers:
    """Who bears the person's time, by what the ledger's rows of time say: of the day, else of the order on other days
    (a day sheet may name an order that the close-out has on the day before). Time that no row tells of is nobody's."""

    def __init__(self, person: Person, first: date, last: date) -> None:
        rows = LedgerEntry.objects.filter(book="cost", category="labor", unit="min")
        rows = rows.filter(person=person, work_date__range=(first, last)).order_by("fund", "award")
        named = rows.values_list("work_date", "order", "work_code", "fund", "award").annotate(minutes=Sum("quantity"))
        self.by_day: dict[tuple[date, int | str], Counter[Payer]] = defaultdict(Counter)
        self.by_what: dict[int | str, Counter[Payer]] = defaultdict(Counter)
        for day, order, code, fund, award, minutes in named:
            self.by_day[day, order or code][fund, award] += minutes
            self.by_what[order or code][fund, award] += minutes

    def of(self, day: date, part: PaidPart) -> Iterable[tuple[Payer, int]]:
        what = part.order_id or part.code
        weights = _above_zero(self.by_day[day, what]) or _above_zero(self.by_what[what]) or {NOBODY: 1}
        return zip(weights, split_cents(part.minutes, list(weights.values())), strict=True)


def _above_zero(minutes: Counter[Payer]) -> dict[Payer, int]:
    return {payer: worked for payer, worked in minutes.items() if worked > 0}


def is_out_of_date(statement: EffortStatement, effort: Effort) -> bool:
    """Whether time has changed since the statement was made."""
    told = {(row.fund_id, row.award_id, row.activity, row.minutes) for row in statement.lines.all()}
    return told != {(line.fund_id, line.award_id, line.activity, line.minutes) for line in effort.lines}
