"""Reminders: one's own list, and every deadline with its reason."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.list_rows import DEADLINES, REMINDERS
from orders.desk.listed import Sorted, file_asked, rows_sorted
from orders.desk.navigation import EVERY_ROLE, page_opens_to
from orders.desk.reminder_forms import SNOOZE_DAYS, DeadlineListForm, NoticeListForm, SnoozeForm
from orders.desk.views.pages import page
from orders.reminders.selectors import notice_get, reminder_preference
from orders.reminders.services import notice_acknowledge, notice_snooze

ROWS_A_PAGE = 25
WHAT = "The page of reminders"
NOTICE_COLUMNS = {
    "what": Sortable("What", "subject"),
    "due": Sortable("Due", "deadline__due_on"),
    "told": Sortable("State and when told", "made_at"),
}
DEADLINE_COLUMNS = {
    "what": Sortable("What", "title"),
    "due": Sortable("Due", "due_on"),
    "state": Sortable("State", "state"),
    "why": Sortable("Why"),
}


@require_safe
@page
def reminder_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    form = NoticeListForm(request.GET)
    listed = rows_sorted(request, form.rows(actor, now()), NOTICE_COLUMNS, "-told")
    if file_asked(request):
        return REMINDERS.reply(listed.found)
    told = {**_told(request, form, listed), "snooze_days": SNOOZE_DAYS, "at": now()}
    return render(request, "desk/reminders.html", told)


def _told(request: HttpRequest, form: Any, listed: Sorted) -> dict[str, Any]:
    return {
        "rows": listed.page(request.GET.get("page", "1"), ROWS_A_PAGE),
        "sort": listed.sort,
        "headings": listed.headings,
        "fields": list(form),
        "is_narrowed": any(form.cleaned_data.values()),
    }


@require_POST
@page
def reminder_acknowledged(request: HttpRequest, actor: User, notice_id: UUID) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    notice_acknowledge(notice=notice_get(actor, notice_id), stamp=Stamp(by=actor, at=now()))
    messages.success(request, "Acknowledged.")
    return redirect("reminders")


@require_POST
@page
def reminder_snoozed(request: HttpRequest, actor: User, notice_id: UUID) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    at = now()
    until = SnoozeForm(request.POST).until(reminder_preference(actor), at)
    notice_snooze(notice=notice_get(actor, notice_id), until=until, stamp=Stamp(by=actor, at=at))
    messages.success(request, "Put off. It comes back by itself.")
    return redirect("reminders")


@require_safe
@page
def deadline_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, "The page of deadlines")
    form = DeadlineListForm(request.GET)
    listed = rows_sorted(request, form.rows(actor, now()), DEADLINE_COLUMNS, "due")
    if file_asked(request):
        return DEADLINES.reply(listed.found)
    return render(request, "desk/deadlines.html", _told(request, form, listed))
