"""Effort statements: finance's list by days, one's own, and one to print and sign. They show minutes, never pay."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.effort_selectors import (
    effort_missing,
    effort_standing,
    effort_statement_get,
    may_confirm,
    own_statements,
    shown,
)
from orders.costs.payroll_selectors import pay_periods
from orders.costs.services.effort import effort_confirm, effort_make_all
from orders.desk.columns import Sortable
from orders.desk.listed import file_asked, lines_sorted, rows_sorted
from orders.desk.money_list_rows import EFFORT
from orders.desk.month_forms import refusal_place
from orders.desk.navigation import EVERY_ROLE, MONEY, page_opens_to
from orders.desk.payroll_forms import DaysForm, SignForm
from orders.desk.views.pages import page, tried

WHAT = "The page of all effort statements"
ROWS_A_PAGE = 50
COLUMNS = {
    "person": Sortable("Person", "statement__person__name"),
    "hours": Sortable("Paid hours", "statement__minutes", is_number=True),
    "state": Sortable("State", "statement__state"),
    "confirmed": Sortable("Confirmed by", "statement__confirmed_name"),
}
OWN_COLUMNS = {
    "days": Sortable("Days", "first_day"),
    "hours": Sortable("Paid hours", "minutes", is_number=True),
    "state": Sortable("State", "state"),
}


@require_safe
@page
def money_effort_page(request: HttpRequest, actor: User) -> HttpResponse:
    """Of the days that the address names, else of the newest pay period."""
    page_opens_to(actor, MONEY, WHAT)
    form = DaysForm(_days_asked(request, actor))
    told: dict[str, Any] = {"form": form, "days": None}
    days = form.cleaned_data if form.is_bound and form.is_valid() else None
    found = list(effort_standing(actor, days["first_day"], days["last_day"])) if days else []
    listed = lines_sorted(request, found, COLUMNS, "person")
    if file_asked(request) and not form.errors:
        return EFFORT.reply(listed.found)
    if days:
        told |= {"days": days, "rows": listed.found, "headings": listed.headings, "sort": listed.sort}
        told["missing"] = effort_missing(actor, days["first_day"], days["last_day"])
    return render(request, "desk/money_effort.html", told, status=400 if form.errors else 200)


def _days_asked(request: HttpRequest, actor: User) -> Any:
    if "first_day" in request.GET or "last_day" in request.GET:
        return request.GET
    newest = pay_periods(actor).first()
    return {"first_day": newest.first_day, "last_day": newest.last_day} if newest else None


@require_POST
@page
def money_effort_make(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = DaysForm(request.POST)
    if not form.is_valid():
        return render(request, "desk/money_effort.html", {"form": form, "days": None}, status=400)
    refusal = tried(lambda: effort_make_all(**form.cleaned_data, stamp=Stamp(by=actor, at=now())))
    if refusal is not None:
        left = refusal_place(form, refusal)
        return render(request, "desk/money_effort.html", {"form": form, "days": None, "refusal": left}, status=400)
    messages.success(request, "Everybody with paid time in these days has a statement that fits it.")
    return redirect(f"{reverse('money-effort')}?{urlencode(form.cleaned_data)}")


@require_safe
@page
def own_effort_page(request: HttpRequest, actor: User) -> HttpResponse:
    """One's own statements, whatever the role."""
    page_opens_to(actor, EVERY_ROLE, "The page of your effort statements")
    found = own_statements(actor).exclude(state="replaced")
    listed = rows_sorted(request, found, OWN_COLUMNS, "-days")
    if file_asked(request):
        return EFFORT.reply(shown(listed.found))
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "statements": shown(rows), "headings": listed.headings, "is_person": hasattr(actor, "person")}
    return render(request, "desk/own_effort.html", told)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def effort_page(request: HttpRequest, actor: User, effort_statement_id: UUID) -> HttpResponse:
    """GET shows a statement, to be printed too; POST confirms it by name."""
    page_opens_to(actor, EVERY_ROLE, "An effort statement")
    statement = effort_statement_get(actor, effort_statement_id)
    form = SignForm(request.POST or None)
    refusal: Refusal | None = None
    if request.method == "POST" and form.is_valid():
        told = {"statement": statement, "name": form.cleaned_data["name"], "stamp": Stamp(by=actor, at=now())}
        refused = tried(lambda: effort_confirm(**told))
        if refused is None:
            messages.success(request, "The statement is confirmed.")
            return redirect("effort-statement", effort_statement_id=effort_statement_id)
        refusal = refusal_place(form, refused)
    (found,) = shown([statement])
    seen = {
        "statement": statement,
        "lines": list(statement.lines.all()),
        "is_out_of_date": found.is_out_of_date,
        "lacking": found.effort.lacking,
        "may_confirm": statement.state == "draft" and may_confirm(actor, statement),
        "is_own": statement.person.user_id == actor.pk,
        "sees_money": actor.has_role(*MONEY),
        "form": form,
        "refusal": refusal,
    }
    status = refusal.status if refusal else 400 if form.errors else 200
    return render(request, "desk/effort_statement.html", seen, status=status)
