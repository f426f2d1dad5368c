"""The next short number of a series."""

from django.db.models import F

from orders.common.models import NumberSeries


def number_next(name: str) -> int:
    """Take the next number inside the caller's transaction: the UPDATE holds the row, so no two callers share one."""
    if not NumberSeries.objects.filter(name=name).update(last=F("last") + 1):
        NumberSeries.objects.get_or_create(name=name)
        NumberSeries.objects.filter(name=name).update(last=F("last") + 1)
    return NumberSeries.objects.get(name=name).last
