"""Time that cannot all be right: spans that overlap, days of more than 24 hours, sheets that differ from close-outs."""

from collections import Counter
from datetime import date

from django.db.models import Sum

from orders.bodies.day import MINUTES_A_DAY
from orders.commands.heard import Heard
from orders.commands.raising import Raiser
from orders.crews.models import Person
from orders.field.models import DaySheet
from orders.workorders.models import TimedSpan, TimeEntry, WorkOrder


def span_doubts(heard: Heard, span: TimedSpan) -> None:
    """One flag a person and day, however many spans overlap."""
    if span.started_at is None or span.ended_at is None or span.minutes == 0:
        return
    standing = TimedSpan.objects.filter(person=span.person, replaced_by__isnull=True, minutes__gt=0)
    beside = standing.filter(started_at__lt=span.ended_at, ended_at__gt=span.started_at).exclude(pk=span.pk)
    if beside.exists():
        title = f"{span.person} is timed twice at once on {span.work_date}"
        Raiser(heard, crew=span.crew).note(f"{span.person.public_id}:{span.work_date}", "time_overlap", title)


def day_doubts(heard: Heard, person: Person, day: date) -> None:
    """The day sheet that stands beside what the close-outs say of that person and day."""
    sheet = DaySheet.objects.filter(person=person, work_date=day, amended_by__isnull=True).first()
    closed = _closed_minutes(person, day)
    most = max(closed.total(), sheet.minutes if sheet else 0)
    if most > MINUTES_A_DAY:
        title = f"{person} has {most / 60:.1f} hours on {day}"
        Raiser(heard).settle(f"{person.public_id}:{day}", "over_24_hours", title)
    if sheet is not None:
        _differences(heard, sheet, closed)


def _closed_minutes(person: Person, day: date) -> Counter[int]:
    """By the order's key."""
    rows = TimeEntry.objects.filter(person=person, work_date=day, close_out__amended_by__isnull=True)
    summed = rows.order_by().values_list("close_out__order").annotate(minutes=Sum("minutes"))
    return Counter(dict(summed))


def _differences(heard: Heard, sheet: DaySheet, closed: Counter[int]) -> None:
    """An order that is not closed yet has nothing to differ from."""
    on_sheet = _sheet_minutes(sheet)
    for order in WorkOrder.objects.filter(pk__in=closed).select_related("site", "crew").order_by("number"):
        told, stated = on_sheet[order.pk], closed[order.pk]
        of_order = f"{sheet.person.public_id}:{sheet.work_date}:{order.number}:"
        key = f"{of_order}{told}:{stated}" if told != stated else ""
        Raiser(heard, order=order).no_more(of_order, "time_differs", but=key)
        if not key:
            continue
        title = f"{sheet.person}, {sheet.work_date}: {told} min on the day sheet, {stated} min on {order}"
        Raiser(heard, order=order).note(key, "time_differs", title, data={"sheet": told, "close_out": stated})


def _sheet_minutes(sheet: DaySheet) -> Counter[int]:
    found: Counter[int] = Counter()
    for line in sheet.lines.prefetch_related("shares"):
        if line.order_id is not None:
            found[line.order_id] += line.minutes
        for share in line.shares.all():
            found[share.order_id] += share.minutes
    return found
