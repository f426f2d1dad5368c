"""Paid time that is no order, as day sheets tell of it: shop, training, repair, leave, and the drive or standby that no
order bears. Time on orders posts from close-outs, never from here."""

from collections import defaultdict
from datetime import date
from uuid import NAMESPACE_URL, UUID, uuid5

from django.db.models import QuerySet

from estimating.pricing import hours_cents
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import LedgerEntry
from orders.costs.pay_selectors import pay_rate_for
from orders.costs.services.charging import entries_post, payers_by_rule
from orders.costs.services.entries import Cost, entries_make, entries_reverse
from orders.costs.services.labor import labor_rate
from orders.costs.workweeks import lines_off_orders
from orders.crews.models import Person
from orders.field.models import DaySheet
from orders.workorders.models import TIME_CODES

SOURCE = "day_line"
LEAVE = "leave"
SECONDS_A_MINUTE = 60


@writing()
def day_sheet_post(*, sheet: DaySheet, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """Post a sheet's time that is no order as labor, by code; what the sheet that it amends posted is taken back first,
    both in the open period.

    Leave is no direct cost where the person's rate was loaded by productive hours: the cost of leave is inside each
    hour of that rate, and charged again it would be paid for twice (2 CFR 200.431(b): leave is a fringe benefit,
    allocated to all that people work on).
    """
    if sheet.amends is not None:
        entries_reverse(day_rows(sheet.amends), posted_on=posted_on, stamp=stamp)
    rows: list[LedgerEntry] = []
    for cost in _costs(sheet):
        payers = payers_by_rule(on=cost.work_date, work_code=cost.work_code, site=None, method_code="")
        revision, why = sheet.revision, sheet.reason
        rows += entries_make(cost, payers, revision=revision, posted_on=posted_on, reason=why, stamp=stamp)
    return entries_post(rows, stamp=stamp)


def day_rows(sheet: DaySheet) -> QuerySet[LedgerEntry]:
    """What a sheet posted and no later row has taken back."""
    named = [_source_id(sheet, code) for code, _ in TIME_CODES]
    rows = LedgerEntry.objects.filter(source_kind=SOURCE, source_id__in=named, revision=sheet.revision)
    return rows.filter(reverses__isnull=True, reversed_by__isnull=True).order_by("id")


def _costs(sheet: DaySheet) -> list[Cost]:
    minutes: dict[str, int] = defaultdict(int)
    for line in lines_off_orders(sheet):
        minutes[line.code] += line.minutes
    if _leave_is_loaded(sheet.person, sheet.work_date):
        minutes.pop(LEAVE, None)
    return [_cost(sheet, code, minutes[code]) for code in sorted(minutes)]


def _leave_is_loaded(person: Person, on: date) -> bool:
    own = pay_rate_for(person, on, role=person.role)
    if own is None or own.productive_hours is None:
        return False
    return own.productive_hours < (own.paid_hours or own.productive_hours)


def _cost(sheet: DaySheet, code: str, minutes: int) -> Cost:
    rate_e4, origin = labor_rate(sheet.person, sheet.work_date)
    return Cost(
        category="labor",
        amount_cents=hours_cents(minutes * SECONDS_A_MINUTE, rate_e4),
        quantity=minutes,
        unit="min",
        rate_e4=rate_e4,
        rate_origin=origin,
        source_kind=SOURCE,
        source_id=_source_id(sheet, code),
        work_date=sheet.work_date,
        person=sheet.person,
        work_code=code,
        crew_name=sheet.crew.name,
    )


def _source_id(sheet: DaySheet, code: str) -> UUID:
    return uuid5(NAMESPACE_URL, f"{SOURCE}/{sheet.public_id}/{code}")
