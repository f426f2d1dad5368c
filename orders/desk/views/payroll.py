"""Pay periods: opened, looked over, told to payroll once, and reconciled with what payroll cost. Finance's."""

from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.payroll_csv import payroll_file_name
from orders.costs.payroll_selectors import (
    changes_waiting,
    pay_period_get,
    pay_periods,
    payroll_file,
    payroll_hours,
    payroll_imports,
    period_lines,
    period_problems,
    reconciliation,
)
from orders.costs.rounding import rounding_report
from orders.costs.services.payroll import pay_period_open, payroll_export
from orders.costs.services.payroll_import import payroll_import
from orders.costs.services.punches import punches_round
from orders.desk.columns import Sortable
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import PAY_PERIODS
from orders.desk.month_forms import refusal_place
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.payroll_forms import DaysForm, PayrollFileForm, days_after, headings_told
from orders.desk.payroll_table import hours_table
from orders.desk.views.pages import page, tried

WHAT = "The pages of payroll"
ROWS_A_PAGE = 50
PROBLEMS_SHOWN = 100
COLUMNS = {
    "days": Sortable("Days", "first_day"),
    "state": Sortable("State", "state"),
    "told": Sortable("With payroll since", "exported_at"),
    "effort": Sortable("Effort"),
}


def _stamp(actor: User) -> Stamp:
    return Stamp(by=actor, at=now())


@require_http_methods(["GET", "HEAD", "POST"])
@page
def payroll_page(request: HttpRequest, actor: User) -> HttpResponse:
    """GET lists pay periods; POST opens one."""
    page_opens_to(actor, MONEY, WHAT)
    periods = pay_periods(actor)
    listed = rows_sorted(request, periods, COLUMNS, "-days")
    if file_asked(request):
        return PAY_PERIODS.reply(listed.found)
    newest = periods.first()
    form: forms.Form = DaysForm(request.POST or None, initial=days_after(newest.last_day if newest else None))
    refusal: Refusal | None = None
    if request.method == "POST" and form.is_valid():
        refused = tried(lambda: pay_period_open(**form.cleaned_data, stamp=_stamp(actor)))
        if refused is None:
            messages.success(request, "The pay period is open.")
            return redirect("payroll")
        refusal = refusal_place(form, refused)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "headings": listed.headings, "form": form, "refusal": refusal}
    return render(request, "desk/payroll.html", told, status=400 if form.errors or refusal else 200)


@require_safe
@page
def pay_period_page(request: HttpRequest, actor: User, pay_period_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    return _period_shown(request, actor, pay_period_id)


def _period_shown(request: HttpRequest, actor: User, pay_period_id: UUID, **more: Any) -> HttpResponse:
    period = pay_period_get(actor, pay_period_id)
    hours = payroll_hours(actor, period.first_day, period.last_day)
    today = _stamp(actor).local_date(settings.PROGRAM_TIME_ZONE)
    problems = period_problems(actor, period, today)
    told: dict[str, Any] = {
        "period": period,
        "table": hours_table(hours, period.first_day, period.last_day),
        "problems": problems[:PROBLEMS_SHOWN],
        "problems_left": len(problems) - PROBLEMS_SHOWN,
        "lines_count": period_lines(actor, period).count(),
        "rounding": rounding_report(actor, period.first_day, period.last_day),
        "imports": list(payroll_imports(actor, period)),
        "people": reconciliation(actor, period) if period.state == "exported" else [],
        "headings": headings_told(),
        "file_form": PayrollFileForm(),
        "refusal": None,
        **more,
    }
    refusal = told["refusal"]
    status = refusal.status if refusal else 400 if told["file_form"].errors else 200
    return render(request, "desk/pay_period.html", told, status=status)


@require_safe
@page
def pay_period_changes_page(request: HttpRequest, actor: User, pay_period_id: UUID) -> HttpResponse:
    """What changed in days that payroll was told of: a page of its own, since all of them are looked through."""
    page_opens_to(actor, MONEY, WHAT)
    period = pay_period_get(actor, pay_period_id)
    rows = Paginator(changes_waiting(actor, period), ROWS_A_PAGE).get_page(request.GET.get("page", "1"))
    return render(request, "desk/pay_period_changes.html", {"period": period, "rows": rows})


@require_http_methods(["GET", "HEAD", "POST"])
@page
def pay_period_export_page(request: HttpRequest, actor: User, pay_period_id: UUID) -> HttpResponse:
    """GET asks once more; POST exports and locks."""
    page_opens_to(actor, MONEY, WHAT)
    period = pay_period_get(actor, pay_period_id)
    refusal: Refusal | None = None
    if request.method == "POST":
        version = request.POST.get("version", "")
        expected = int(version) if version.isascii() and version.isdigit() and len(version) < 9 else 0
        refusal = tried(lambda: payroll_export(period=period, expected=expected, stamp=_stamp(actor)))
        if refusal is None:
            messages.success(request, "The hours are with payroll and the period is locked. Its file is ready.")
            return redirect("pay-period", pay_period_id=pay_period_id)
        period.refresh_from_db()
    hours = payroll_hours(actor, period.first_day, period.last_day)
    told = {
        "period": period,
        "refusal": refusal,
        "table": hours_table(hours, period.first_day, period.last_day),
        "changes": changes_waiting(actor, period) if period.state == "open" else [],
        "problems": period_problems(actor, period, _stamp(actor).local_date(settings.PROGRAM_TIME_ZONE)),
    }
    return render(request, "desk/pay_period_export.html", told, status=refusal.status if refusal else 200)


@require_safe
@page
def pay_period_file(request: HttpRequest, actor: User, pay_period_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    period = pay_period_get(actor, pay_period_id)
    reply = HttpResponse(payroll_file(actor, period), content_type="text/csv; charset=utf-8; header=present")
    reply["Content-Disposition"] = f'attachment; filename="{payroll_file_name(period)}"'
    return reply


@require_POST
@page
def pay_period_round(request: HttpRequest, actor: User, pay_period_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    period = pay_period_get(actor, pay_period_id)
    rows = punches_round(first=period.first_day, last=period.last_day, stamp=_stamp(actor))
    messages.success(request, f"{len(rows)} measured span{'' if len(rows) == 1 else 's'} rounded by the pay policy.")
    return redirect("pay-period", pay_period_id=pay_period_id)


@require_POST
@page
def pay_period_import(request: HttpRequest, actor: User, pay_period_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = PayrollFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _period_shown(request, actor, pay_period_id, file_form=form)
    period, file = pay_period_get(actor, pay_period_id), form.cleaned_data["file"]
    sent = {"file_name": file.name, "data": file.read(), "stamp": _stamp(actor)}
    refusal = tried(lambda: payroll_import(period=period, **sent))
    if refusal is not None:
        return _period_shown(request, actor, pay_period_id, refusal=refusal)
    messages.success(request, f"{file.name} is taken, and the ledger is settled with it.")
    return redirect("pay-period", pay_period_id=pay_period_id)
