"""Writes of files, views and schedules."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.conf import settings

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, RoleMissing, WrongState
from orders.common.models import User
from orders.common.rows import Findings, row_add, row_edit, row_remove
from orders.common.runs import run_wake
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.reports.models import ExportRun, ReportMail, ReportSchedule, SavedView
from orders.reports.moments import schedule_next
from orders.reports.selectors import MONTH_END, report_check, report_name, report_opens

TABLE_FORMATS = ("csv", "xlsx", "pdf")
MOST_WORDS, MOST_CHARACTERS, NAME_CHARACTERS = 30, 200, 40
MOST_RECIPIENTS = 50
SCHEDULE_FIELDS = ("every", "on_day", "at_hour", "time_zone")
DAYS_A_WEEK = 7


@writing()
def export_ask(
    *, report: str, query: dict[str, str], file_format: str, stamp: Stamp, public_id: UUID | None = None
) -> ExportRun:
    """Ask for a file of a report: the row is the job; a worker is woken after the commit."""
    report_check(_asking(stamp), report)
    found = Findings()
    found.need(file_format in TABLE_FORMATS, "file_format", f"Must be one of {', '.join(TABLE_FORMATS)}.")
    _query_check(query, found)
    found.refuse("The file was not asked for.")
    return _export_make(report, query, file_format, stamp, public_id)


@writing()
def handover_ask(*, month: date, stamp: Stamp, public_id: UUID | None = None) -> ExportRun:
    """Ask for all that is handed over of a month, in one archive."""
    report_check(_asking(stamp), MONTH_END)
    if month.day != 1:
        raise Invalid("The hand-over was not asked for.", [FieldError("month", "Must be the first day of a month.")])
    return _export_make(MONTH_END, {"month": f"{month:%Y-%m}"}, "zip", stamp, public_id)


def _asking(stamp: Stamp) -> User:
    if stamp.by is None:
        raise RoleMissing("A file is made for somebody, whose role says what it may hold.")
    return stamp.by


def _export_make(
    report: str, query: dict[str, str], file_format: str, stamp: Stamp, public_id: UUID | None = None
) -> ExportRun:
    named = {} if public_id is None else {"public_id": public_id}
    run = ExportRun.objects.create(
        report=report, query=query, file_format=file_format, asked_by=stamp.by, asked_at=stamp.at, **named
    )
    change_record(stamp=stamp, verb="export_ask", entity=run, after={"report": report, "file_format": file_format})
    run_wake(run)
    return run


def _query_check(query: Any, found: Findings) -> None:
    fits = isinstance(query, dict) and len(query) <= MOST_WORDS
    found.need(fits, "query", f"Must be at most {MOST_WORDS} words with their values.")
    for name, value in query.items() if fits else ():
        short = isinstance(value, str) and len(value) <= MOST_CHARACTERS and len(name) <= NAME_CHARACTERS
        found.need("\0" not in name, "query", "A word holds a sign that cannot be kept.")
        found.need(short, "query", f"{name[:NAME_CHARACTERS]} must be a text of at most {MOST_CHARACTERS} characters.")


@writing()
def view_save(*, name: str, report: str, query: dict[str, str], is_shared: bool = False, stamp: Stamp) -> SavedView:
    """Keep a report as it was asked for, under a name of one's own."""
    owner = _asking(stamp)
    report_check(owner, report)
    found = Findings()
    found.need(bool(name.strip()), "name", "Give it a name.")
    _query_check(query, found)
    taken = SavedView.objects.filter(owner=owner, name=name.strip()).exists()
    found.need(not taken, "name", "You have a view of this name.")
    view = SavedView(owner=owner, name=name.strip(), report=report, query=query, is_shared=is_shared)
    return row_add(view, stamp=stamp, verb="view_save", findings=found)


@writing()
def view_edit(*, view: SavedView, expected: int, values: dict[str, Any], stamp: Stamp) -> SavedView:
    """Another name, another query, or shared or not: the owner's alone."""
    _own(view, stamp)
    found = Findings()
    found.need(bool(str(values.get("name", view.name)).strip()), "name", "Give it a name.")
    _query_check(values.get("query", view.query), found)
    found.refuse("The view was not changed.")
    return row_edit(view, stamp=stamp, verb="view_edit", expected=expected, values=values)


@writing()
def view_share(*, view: SavedView, is_shared: bool, expected: int, stamp: Stamp) -> SavedView:
    """For everybody whose role opens the report, or for its owner alone again."""
    _own(view, stamp)
    return row_edit(view, stamp=stamp, verb="view_share", expected=expected, values={"is_shared": is_shared})


@writing()
def view_remove(*, view: SavedView, expected: int, stamp: Stamp) -> None:
    _own(view, stamp)
    row_remove(view, stamp=stamp, verb="view_remove", expected=expected)


def _own(view: SavedView, stamp: Stamp) -> None:
    if stamp.by is None or view.owner_id != stamp.by.pk:
        raise RoleMissing("A view is changed by whoever saved it.")


@writing()
def schedule_add(*, values: dict[str, Any], recipients: list[User], stamp: Stamp) -> ReportSchedule:
    """Have a report mailed on its own days. It is made with the rights of whoever sets it up."""
    maker = _asking(stamp)
    report_check(maker, str(values.get("report", "")))
    row = ReportSchedule(made_by=maker, **{"time_zone": settings.PROGRAM_TIME_ZONE, **values})
    _schedule_check(row, recipients).refuse("The schedule was not added.")
    row.next_at = _next(row, stamp.at)
    row_add(row, stamp=stamp, verb="schedule_add")
    row.recipients.set(recipients)
    return row


@writing()
def schedule_edit(
    *, schedule: ReportSchedule, expected: int, values: dict[str, Any], recipients: list[User] | None, stamp: Stamp
) -> ReportSchedule:
    """Other days, another form, other readers. The next day is counted from now."""
    report_check(_asking(stamp), schedule.report)
    report_check(_asking(stamp), values.get("report", schedule.report))
    proposed = ReportSchedule.objects.get(pk=schedule.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    readers = list(proposed.recipients.all()) if recipients is None else recipients
    _schedule_check(proposed, readers).refuse("The schedule was not changed.")
    moved = {"next_at": _next(proposed, stamp.at)} if values.keys() & set(SCHEDULE_FIELDS) else {}
    row_edit(schedule, stamp=stamp, verb="schedule_edit", expected=expected, values={**values, **moved})
    if recipients is not None:
        schedule.recipients.set(recipients)
    return schedule


@writing()
def schedule_pause(*, schedule: ReportSchedule, is_active: bool, expected: int, stamp: Stamp) -> ReportSchedule:
    """Stop it for a while, or let it go on: what fell due meanwhile is not made up for."""
    report_check(_asking(stamp), schedule.report)
    values: dict[str, Any] = {"is_active": is_active}
    if is_active:
        values["next_at"] = _next(schedule, stamp.at)
    return row_edit(schedule, stamp=stamp, verb="schedule_pause", expected=expected, values=values)


@writing()
def schedule_remove(*, schedule: ReportSchedule, expected: int, stamp: Stamp) -> None:
    """One that has mailed something is paused instead: its mails are kept."""
    report_check(_asking(stamp), schedule.report)
    if schedule.mails.exists():
        raise WrongState("This schedule has mailed reports, which are kept with it. Pause it instead.")
    row_remove(schedule, stamp=stamp, verb="schedule_remove", expected=expected)


@writing()
def schedule_send(*, schedule: ReportSchedule, stamp: Stamp) -> ExportRun:
    """One now, beside its own days, with the rights of whoever asks."""
    report_check(_asking(stamp), schedule.report)
    return _sending_make(schedule, due_at=stamp.at, stamp=stamp)


def schedules_run(*, at: datetime) -> int:
    """Make the file and the mails of each schedule that is due. Of several days missed the last is told, once."""
    due = ReportSchedule.objects.filter(is_active=True, next_at__lte=at).select_related("made_by").order_by("id")
    return sum(_schedule_run(schedule, at) for schedule in due)


@writing()
def _schedule_run(schedule: ReportSchedule, at: datetime) -> bool:
    """Compare-and-set on the moment: of two runs at once one makes the file."""
    due_at = schedule.next_at
    held = ReportSchedule.objects.filter(pk=schedule.pk, next_at=due_at, is_active=True)
    if held.update(next_at=_next(schedule, at)) != 1:
        return False
    _sending_make(schedule, due_at=due_at, stamp=Stamp(by=schedule.made_by, at=at, reason=f"Schedule {schedule.name}"))
    return True


def _sending_make(schedule: ReportSchedule, *, due_at: datetime, stamp: Stamp) -> ExportRun:
    run = _export_make(schedule.report, schedule.query, schedule.file_format, stamp)
    ReportMail.objects.bulk_create(
        [
            ReportMail(schedule=schedule, due_at=due_at, recipient=person, export=run)
            for person in schedule.recipients.order_by("id")
        ]
    )
    return run


def _next(row: ReportSchedule, after: datetime) -> datetime:
    return schedule_next(every=row.every, on_day=row.on_day, at_hour=row.at_hour, time_zone=row.time_zone, after=after)


def _schedule_check(row: ReportSchedule, recipients: list[User]) -> Findings:
    found = Findings()
    found.need(bool(row.name.strip()), "name", "Give it a name.")
    found.need(row.file_format in TABLE_FORMATS, "file_format", f"Must be one of {', '.join(TABLE_FORMATS)}.")
    found.need(row.every in dict(ReportSchedule.EVERY), "every", "Must be day, week or month.")
    found.need(row.every != "week" or 1 <= row.on_day <= DAYS_A_WEEK, "on_day", "A weekday is 1 (Monday) to 7.")
    found.need(1 <= row.on_day <= 28, "on_day", "A day of the month is 1 to 28, which every month has.")
    found.need(0 <= row.at_hour <= 23, "at_hour", "An hour is 0 to 23.")
    found.need(0 < len(recipients) <= MOST_RECIPIENTS, "recipients", f"Name 1 to {MOST_RECIPIENTS} people.")
    _query_check(row.query, found)
    for person in recipients:
        name = person.get_full_name() or person.get_username()
        found.need(bool(person.email), "recipients", f"{name} has no mail address.")
        opens = report_opens(person, row.report)
        found.need(opens, "recipients", f"{name} has no role that opens {report_name(row.report)}.")
    return found
