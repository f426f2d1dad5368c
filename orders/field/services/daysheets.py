"""A person's whole paid day. Drive and standby that no order is named for are shared over the day's orders."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimating.pricing import split_cents
from orders.common.changes import change_record
from orders.common.errors import FieldError, WrongState
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import DayLine, DayShare, DaySheet
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.models import WorkOrder

SHARED = ("drive", "rain")


@dataclass(frozen=True)
class LineStated:
    code: str
    minutes: int
    origin: str
    order: WorkOrder | None = None
    note: str = ""


@writing()
def day_sheet_confirm(*, sheet: DaySheet, lines: Sequence[LineStated], stamp: Stamp) -> DaySheet:
    """Store the day. A second sheet of the same person and day amends the first, and must say why."""
    if known := fact_known(sheet):
        return known
    found = Findings()
    found.errors.extend(_faults(lines))
    found.refuse("The day sheet cannot be read.")
    standing = _standing(sheet)
    if standing is not None and not sheet.reason:
        raise WrongState(f"{sheet.person} has a day sheet of {sheet.work_date} already. Amend it, with the reason.")
    sheet.amends = standing
    sheet.revision = standing.revision + 1 if standing else 1
    sheet.minutes = sum(line.minutes for line in lines)
    fact_save(sheet, stamp=stamp)
    _lines_add(sheet, lines)
    after = {"work_date": sheet.work_date.isoformat(), "minutes": sheet.minutes, "revision": sheet.revision}
    audience = [sheet.crew.public_id]
    change_record(stamp=stamp, verb="day_sheet_confirm", entity=sheet, after=after, audience=audience)
    return sheet


def _faults(lines: Sequence[LineStated]) -> Iterator[FieldError]:
    for number, line in enumerate(lines, start=1):
        if line.minutes <= 0:
            yield FieldError("lines.minutes", "must be above 0", number)
        if line.code == "work" and line.order is None:
            yield FieldError("lines.order", "is required for work", number, "required")


def _standing(sheet: DaySheet) -> DaySheet | None:
    return DaySheet.objects.filter(person=sheet.person, work_date=sheet.work_date).order_by("-revision").first()


def _lines_add(sheet: DaySheet, lines: Sequence[LineStated]) -> None:
    rows = [
        DayLine(sheet=sheet, code=line.code, order=line.order, minutes=line.minutes, origin=line.origin, note=line.note)
        for line in lines
    ]
    DayLine.objects.bulk_create(rows)
    shares = shares_of(lines, sheet.rule)
    DayShare.objects.bulk_create(
        DayShare(line=row, order=order, minutes=minutes)
        for row, parts in zip(rows, shares, strict=True)
        for order, minutes in parts
    )


def shares_of(lines: Sequence[LineStated], rule: str) -> list[list[tuple[WorkOrder, int]]]:
    """For each line, what of it each order bears: by minutes worked, or in equal parts. The parts add up to the line;
    what does not go even goes to the largest remainders, and of equal ones to the lower order number."""
    worked: dict[WorkOrder, int] = defaultdict(int)
    for line in lines:
        if line.code == "work" and line.order is not None:
            worked[line.order] += line.minutes
    orders = sorted(worked, key=lambda order: order.number)
    weights = [worked[order] if rule == "minutes" else 1 for order in orders]
    return [_shares(line, orders, weights) for line in lines]


def _shares(line: LineStated, orders: list[WorkOrder], weights: list[int]) -> list[tuple[WorkOrder, int]]:
    if line.code not in SHARED or line.order is not None or not orders:
        return []
    parts = split_cents(line.minutes, weights)
    return [(order, minutes) for order, minutes in zip(orders, parts, strict=True) if minutes]
