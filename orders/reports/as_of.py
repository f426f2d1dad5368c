"""The day that a report of a day is about, where none is named: reports read no clock."""

from datetime import date

from django.db.models import Max

from orders.costs.models import LedgerEntry
from orders.reports.asking import Asked
from orders.supplies.models import StockMovement

BEFORE_ANYTHING = date(1990, 1, 1)


def books_day(asked: Asked) -> date:
    """The day that was asked for, else the latest that the books know of: so a file of today's books is today's."""
    if asked.on:
        return asked.on
    posted = LedgerEntry.objects.aggregate(at=Max("posted_at"), month=Max("posting_month"), worked=Max("work_date"))
    moved = StockMovement.objects.aggregate(on=Max("on"))["on"]
    at = posted["at"].date() if posted["at"] else None
    known = [day for day in (at, posted["month"], posted["worked"], moved) if day]
    return max(known, default=BEFORE_ANYTHING)
