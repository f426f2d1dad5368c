"""What the ground asks for: crews that are not back, flags, orders that are late, records that are owed."""

from datetime import date, timedelta
from typing import Any

from orders.common.models.user import CREW_LEAD
from orders.crews.selectors import memberships_of
from orders.field.models import DaySheet, Device
from orders.field.selectors.checkins import check_ins_of, overdue
from orders.field.selectors.flags import flags_of
from orders.reports.today.cards import (
    DESK,
    GROUND,
    Card,
    Line,
    Reader,
    Waiting,
    days_away,
    due_in,
    names,
    waiting_in,
    waiting_of,
)
from orders.workorders.models import TimeEntry
from orders.workorders.records.lists import uses_of
from orders.workorders.records.states import records_open
from orders.workorders.selectors import orders_of

OPEN_ORDERS = ("issued", "underway")
AHEAD = timedelta(days=14)
OWN_AHEAD = timedelta(days=7)
SILENT = timedelta(days=7)
LEAD = frozenset({CREW_LEAD})


def _overdue(reader: Reader) -> Waiting | None:
    rows = overdue(check_ins_of(reader.actor, on=reader.on).select_related("crew", "site"), at=reader.at)
    return waiting_of(rows, lambda row: Line(f"{row.crew.name} at {row.site.name}", page="out-now"), "out-now")


def _held(reader: Reader) -> Waiting | None:
    rows = flags_of(reader.actor, on=reader.on).filter(state="open", kind="held")
    return waiting_of(rows, _flag, "flags", kind="held")


def _flags(reader: Reader) -> Waiting | None:
    rows = flags_of(reader.actor, on=reader.on).filter(state="open").exclude(kind="held")
    urgent = rows.filter(severity="urgent")
    found = waiting_of(rows, _flag, "flags")
    pressing = [_flag(row) for row in urgent[:3]]
    return Waiting(found.count, pressing or found.lines, found.page) if found else None


def _flag(row: Any) -> Line:
    return Line(row.title, row.site.name if row.site else "", "flag", row.public_id)


def _orders(reader: Reader) -> Any:
    return orders_of(reader.actor, on=reader.on).defer("site__boundary", "label", "instructions")


def _drafts(reader: Reader) -> Waiting | None:
    rows = _orders(reader).filter(state="draft", first_day__lte=reader.on + AHEAD).order_by("first_day", "number")
    return waiting_of(rows, lambda row: _order_line(row, row.first_day, reader.on), "orders", state="draft")


def _behind(reader: Reader) -> Waiting | None:
    rows = _orders(reader).filter(state__in=OPEN_ORDERS, last_day__lt=reader.on).order_by("last_day", "number")
    return waiting_of(rows, lambda row: _order_line(row, row.last_day, reader.on), "watch")


def _own(reader: Reader) -> Waiting | None:
    until = reader.on + OWN_AHEAD
    rows = _orders(reader).filter(state__in=OPEN_ORDERS, first_day__lte=until, last_day__gte=reader.on)
    rows = rows.order_by("first_day", "number")
    return waiting_of(rows, lambda row: _order_line(row, row.first_day, reader.on), "orders", state="issued")


def _order_line(row: Any, day: date, on: date) -> Line:
    about = names([row.site.name, row.crew.name, days_away(day, on)])
    return Line(f"Work order {row.number}", about, "order", row.public_id)


def _records(reader: Reader) -> Waiting | None:
    found = records_open(uses_of(reader.actor, on=reader.on))

    def line(state: Any) -> Line:
        about = f"{state.group.site.name}, {due_in(state.due_on, reader.on)}"
        return Line(state.group.responsible.name, about, "records-owed")

    return waiting_in(found, line, "records-owed")


def _day_sheets(reader: Reader) -> Waiting | None:
    """Days of the last week on which people of own crews worked by a close-out, without a confirmed day sheet."""
    crews = [member.crew_id for member in memberships_of(reader.actor, reader.on)]
    days = (reader.on - timedelta(days=7), reader.on)
    worked = TimeEntry.objects.filter(
        close_out__amended_by__isnull=True, close_out__order__crew__in=crews, work_date__range=days
    )
    told = set(
        DaySheet.objects.filter(work_date__range=days, amended_by__isnull=True).values_list("person", "work_date")
    )
    pairs = worked.order_by("work_date", "person__name").values_list("person", "person__name", "work_date").distinct()
    missing = [(name, day) for person, name, day in pairs if (person, day) not in told]
    return waiting_in(missing, lambda pair: Line(f"{pair[0]}, {pair[1]}", page="day-sheets"), "day-sheets")


def _silent(reader: Reader) -> Waiting | None:
    """Enrolled tablets that said last that something waits on them, and were not heard for a week."""
    rows = Device.objects.filter(
        revoked_at__isnull=True,
        expires_on__gte=reader.on,
        waiting_told__gt=0,
        last_contact_at__lt=reader.at - SILENT,
    ).order_by("last_contact_at")

    def line(row: Any) -> Line:
        return Line(
            row.name, f"{row.waiting_told} waiting, last heard {row.last_contact_at:%Y-%m-%d}", "tablet", row.public_id
        )

    return waiting_of(rows, line, "tablets")


CARDS = (
    Card(
        code="overdue",
        one="{count} crew is not back and overdue",
        many="{count} crews are not back and overdue",
        roles=GROUND,
        find=_overdue,
    ),
    Card(
        code="held",
        one="{count} message from a tablet is held: it conflicts with what stands",
        many="{count} messages from tablets are held: they conflict with what stands",
        roles=GROUND,
        find=_held,
    ),
    Card(code="flags", one="{count} flag is open", many="{count} flags are open", roles=GROUND, find=_flags),
    Card(
        code="own_orders",
        one="{count} order of your crews in the next seven days",
        many="{count} orders of your crews in the next seven days",
        roles=LEAD,
        find=_own,
    ),
    Card(
        code="drafts",
        one="{count} order begins within two weeks and is not issued",
        many="{count} orders begin within two weeks and are not issued",
        roles=DESK,
        find=_drafts,
    ),
    Card(
        code="behind",
        one="{count} order is behind: its last day is over and it is not closed",
        many="{count} orders are behind: their last day is over and they are not closed",
        roles=GROUND,
        find=_behind,
    ),
    Card(
        code="records",
        one="{count} herbicide record is owed or incomplete",
        many="{count} herbicide records are owed or incomplete",
        roles=GROUND,
        find=_records,
    ),
    Card(
        code="day_sheets",
        one="{count} day of the last week has no confirmed day sheet",
        many="{count} days of the last week have no confirmed day sheet",
        roles=LEAD,
        find=_day_sheets,
    ),
    Card(
        code="silent_tablets",
        one="{count} tablet holds unsent work and was not heard for a week",
        many="{count} tablets hold unsent work and were not heard for a week",
        roles=DESK,
        find=_silent,
    ),
)
