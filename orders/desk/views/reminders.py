"""Reminders: one's own list, and every deadline with its reason."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import EVERY_ROLE, page_opens_to
from orders.desk.reminder_forms import SNOOZE_DAYS, DeadlineListForm, NoticeListForm, SnoozeForm
from orders.desk.views.pages import page
from orders.reminders.selectors import notice_get, reminder_preference
from orders.reminders.services import notice_acknowledge, notice_snooze

ROWS_A_PAGE = 25
WHAT = "The page of reminders"


@require_safe
@page
def reminder_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    form = NoticeListForm(request.GET)
    rows = Paginator(form.rows(actor, now()), ROWS_A_PAGE).get_page(request.GET.get("page", "1"))
    told = {"rows": rows, "fields": list(form), "is_narrowed": _is_narrowed(form), "snooze_days": SNOOZE_DAYS}
    return render(request, "desk/reminders.html", {**told, "at": now()})


def _is_narrowed(form: Any) -> bool:
    return any(form.cleaned_data.values())


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
    rows = Paginator(form.rows(actor, now()), ROWS_A_PAGE).get_page(request.GET.get("page", "1"))
    told = {"rows": rows, "fields": list(form), "is_narrowed": _is_narrowed(form)}
    return render(request, "desk/deadlines.html", told)
