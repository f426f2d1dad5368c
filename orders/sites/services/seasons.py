"""The site's calendar and its closures: added, corrected, and taken out with a reason."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from orders.common.rows import Findings, row_add, row_edit, row_remove
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import CalendarEvent, Closure, Site
from orders.sites.services.reasons import reason_check

METHOD_CHARACTERS = 20
LONGEST_YEARLY_DAYS = 364


@writing()
def calendar_event_add(*, stamp: Stamp, site: Site, kind: str, year: int, on: date, source: str) -> CalendarEvent:
    """Record one year's day. `year` is the season's: a leaf-off in January belongs to the year before."""
    row = CalendarEvent(site=site, kind=kind, year=year, on=on, source=source)
    return row_add(row, stamp=stamp, verb="calendar_event_add", findings=_event_found(year, on))


@writing()
def calendar_event_edit(*, stamp: Stamp, event: CalendarEvent, expected: int, **values: Any) -> CalendarEvent:
    """Correct a record: its `on`, `year` or `source`; what is not named stays. `expected` is the version read."""
    found = _event_found(values.get("year", event.year), values.get("on", event.on))
    found.refuse("The record was not changed.")
    return row_edit(event, stamp=stamp, verb="calendar_event_edit", expected=expected, values=values)


@writing()
def calendar_event_remove(*, stamp: Stamp, event: CalendarEvent, expected: int) -> None:
    """Take a record out; what it said stays in the record of changes, with the reason."""
    reason_check(stamp, "The record was not taken out.")
    row_remove(event, stamp=stamp, verb="calendar_event_remove", expected=expected)


def _event_found(year: int, on: date) -> Findings:
    found = Findings()
    found.need(on.year in {year, year + 1}, "on", f"{on} does not belong to the season of {year}.")
    return found


@writing()
def closure_add(
    *,
    stamp: Stamp,
    site: Site,
    first_day: date,
    last_day: date,
    why: str,
    kind: str = "other",
    repeats_yearly: bool = False,
    methods: Sequence[str] = (),
) -> Closure:
    """Close a site, or some methods there (by code; none named: all), from the first day to the last."""
    row = Closure(
        site=site,
        kind=kind,
        first_day=first_day,
        last_day=last_day,
        repeats_yearly=repeats_yearly,
        methods=list(methods),
        why=why,
    )
    return row_add(row, stamp=stamp, verb="closure_add", findings=_closure_found(row))


@writing()
def closure_edit(*, stamp: Stamp, closure: Closure, expected: int, **values: Any) -> Closure:
    """Correct a closure; what is not named stays. `expected` is the version read."""
    proposed = Closure.objects.get(pk=closure.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    _closure_found(proposed).refuse("The closure was not changed.")
    return row_edit(closure, stamp=stamp, verb="closure_edit", expected=expected, values=values)


@writing()
def closure_remove(*, stamp: Stamp, closure: Closure, expected: int) -> None:
    """Open the site again; what the closure said stays in the record of changes, with the reason."""
    reason_check(stamp, "The closure was not taken out.")
    row_remove(closure, stamp=stamp, verb="closure_remove", expected=expected)


def _closure_found(row: Closure) -> Findings:
    found = Findings()
    found.days_in_order(row.first_day, row.last_day)
    days = (row.last_day - row.first_day).days
    fits = not row.repeats_yearly or days < LONGEST_YEARLY_DAYS
    found.need(fits, "last_day", f"What comes every year is shorter than {LONGEST_YEARLY_DAYS} days.")
    are_codes = all(isinstance(code, str) and 0 < len(code) <= METHOD_CHARACTERS for code in row.methods)
    found.need(are_codes and len(set(row.methods)) == len(row.methods), "methods", "Must be codes of methods.")
    return found
