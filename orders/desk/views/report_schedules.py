"""Reports that are mailed on their own days: set up, changed, paused, sent once now; and what became of each mail."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Invalid
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.export_forms import ScheduleForm, errors_put, query_address, query_of, schedule_initial
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import SCHEDULES
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.views.pages import page
from orders.reports.models import ReportMail, ReportSchedule
from orders.reports.selectors import (
    mails_newest,
    mails_of,
    query_told,
    report_name,
    report_opens,
    schedule_get,
    schedules_of,
)
from orders.reports.services import schedule_add, schedule_edit, schedule_pause, schedule_remove, schedule_send

WHAT = "The page of report schedules"
ROWS_A_PAGE = 25
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

COLUMNS = {
    "name": Sortable("Name", "name"),
    "report": Sortable("Report", "report"),
    "when": Sortable("When"),
    "next": Sortable("Next", "next_at"),
    "last": Sortable("Last mail"),
}


@dataclass(frozen=True)
class ScheduleLine:
    """A schedule in words, and the newest of its mails."""

    schedule: ReportSchedule
    report: str
    query: str
    when: str
    last: ReportMail | None


@require_safe
@page
def schedules_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    listed = rows_sorted(request, schedules_of(actor), COLUMNS, "name")
    if file_asked(request):
        return SCHEDULES.reply(_lines(listed.found))
    rows = listed.page(request.GET.get("page"), ROWS_A_PAGE)
    return render(request, "desk/schedules.html", {"rows": rows, "lines": _lines(rows), "headings": listed.headings})


def _lines(rows: Iterable[ReportSchedule]) -> list[ScheduleLine]:
    schedules = list(rows)
    last = mails_newest(schedules)
    return [
        ScheduleLine(row, report_name(row.report), query_told(row.report, row.query), _when(row), last.get(row.pk))
        for row in schedules
    ]


def _when(row: ReportSchedule) -> str:
    days = {
        "day": "Every day",
        "week": f"Every {WEEKDAYS[(row.on_day - 1) % len(WEEKDAYS)]}",
        "month": f"Day {row.on_day} of a month",
    }
    return f"{days[row.every]}, {row.at_hour:02d}:00 ({row.time_zone})"


@require_http_methods(["GET", "HEAD", "POST"])
@page
def schedule_new(request: HttpRequest, actor: User) -> HttpResponse:
    """A report's screen hands over its code and its words."""
    page_opens_to(actor, MONEY, WHAT)
    if request.method != "POST":
        said = {"report": request.GET.get("report", ""), "query": query_address(query_of(request.GET))}
        form = ScheduleForm(actor, initial=said)
        return render(request, "desk/schedule_new.html", {"form": form})
    form = ScheduleForm(actor, request.POST)
    if form.is_valid():
        try:
            row = schedule_add(values=form.values(), recipients=form.people(), stamp=Stamp(by=actor, at=now()))
        except Invalid as refusal:
            errors_put(form, refusal.errors)
        else:
            messages.success(request, f"{row.name} is set up.")
            return redirect("report-schedule", schedule_id=row.public_id)
    return render(request, "desk/schedule_new.html", {"form": form}, status=400)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def schedule_page(request: HttpRequest, actor: User, schedule_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    row = schedule_get(actor, schedule_id)
    form = ScheduleForm(actor, request.POST or None, initial=schedule_initial(row))
    if request.method == "POST" and form.is_valid() and _changed(request, form, row, actor):
        messages.success(request, f"{row.name} is changed.")
        return redirect("report-schedule", schedule_id=row.public_id)
    told = {
        "form": form,
        "row": row,
        "name": report_name(row.report),
        "query_words": query_told(row.report, row.query),
        "when": _when(row),
        "mails": Paginator(mails_of(row), ROWS_A_PAGE).get_page(request.GET.get("page")),
        "lost": [person for person in row.recipients.all() if not report_opens(person, row.report)],
    }
    return render(request, "desk/schedule.html", told, status=400 if form.errors else 200)


def _changed(request: HttpRequest, form: ScheduleForm, row: ReportSchedule, actor: User) -> bool:
    try:
        schedule_edit(
            schedule=row,
            expected=_version(request),
            values=form.values(),
            recipients=form.people(),
            stamp=Stamp(by=actor, at=now()),
        )
    except Invalid as refusal:
        errors_put(form, refusal.errors)
        return False
    return True


@require_POST
@page
def schedule_paused(request: HttpRequest, actor: User, schedule_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    row = schedule_get(actor, schedule_id)
    is_active = request.POST.get("is_active") == "yes"
    schedule_pause(schedule=row, is_active=is_active, expected=_version(request), stamp=Stamp(by=actor, at=now()))
    messages.success(request, f"{row.name} {'goes on' if is_active else 'is paused'}.")
    return redirect("report-schedule", schedule_id=row.public_id)


@require_POST
@page
def schedule_removed(request: HttpRequest, actor: User, schedule_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    row = schedule_get(actor, schedule_id)
    schedule_remove(schedule=row, expected=_version(request), stamp=Stamp(by=actor, at=now()))
    messages.success(request, f"{row.name} is removed.")
    return redirect("report-schedules")


@require_POST
@page
def schedule_sent(request: HttpRequest, actor: User, schedule_id: UUID) -> HttpResponse:
    """One now; the page of its file says how far it is."""
    page_opens_to(actor, MONEY, WHAT)
    run = schedule_send(schedule=schedule_get(actor, schedule_id), stamp=Stamp(by=actor, at=now()))
    return redirect("run-progress", run_id=run.public_id)


def _version(request: HttpRequest) -> int:
    """Of the row as the page showed it; what is no number is no version that there ever was."""
    said = request.POST.get("version", "")
    return int(said) if said.isdecimal() and len(said) < 10 else 0
