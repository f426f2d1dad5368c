"""Posting months: which one takes a posting. Closed ones take none."""

from datetime import date

from orders.costs.models import Period

OPEN_STATES = ("open", "closing")


def posting_month_for(day: date) -> date:
    """The month of the day, or where that is closed the first one after it that is open. The caller holds the write
    lock, so that no period closes between this and the posting."""
    month = day.replace(day=1)
    shut = set(Period.objects.exclude(state__in=OPEN_STATES).values_list("first_day", flat=True))
    while month in shut:
        month = date(month.year + month.month // 12, month.month % 12 + 1, 1)
    return month
