"""The end of a month, step by step: what is open, the proof, two people who close it. And the proofs themselves."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.month_end import MonthStep, month_end_steps
from orders.costs.month_selectors import months, period_of, proof_get, proof_is_fresh, proofs
from orders.costs.services.periods import (
    period_close_ask,
    period_close_confirm,
    period_reopen_ask,
    period_reopen_confirm,
    period_withdraw,
)
from orders.costs.services.proof import proof_run
from orders.costs.words import ACCOUNT_WORDS
from orders.desk.columns import Sortable
from orders.desk.listed import file_asked, lines_sorted, rows_sorted
from orders.desk.money_list_rows import MONTHS, PROOFS
from orders.desk.month_forms import ConfirmForm, WhyForm, refusal_place
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.views.pages import page, tried

WHAT = "The pages of month ends"
ROWS_A_PAGE = 50
MONTH_COLUMNS = {
    "month": Sortable("Month", "month"),
    "state": Sortable("State", "state_words"),
    "rows": Sortable("Rows", "rows", is_number=True),
    "cost": Sortable("Costs posted", "cost_cents", is_number=True),
    "closed": Sortable("Closed", "period__closed_at"),
}
PROOF_COLUMNS = {
    "ran": Sortable("Ran", "ran_at"),
    "result": Sortable("Result", "is_good"),
    "by": Sortable("By", "ran_by__username"),
    "rows": Sortable("Rows", "rows_count", is_number=True),
    "newest": Sortable("Newest row", "last_row", is_number=True),
}
OUTSIDER = {
    "outsider.name": "outside_name",
    "outsider.organization": "outside_organization",
    "outsider.how": "outside_how",
    "outsider": "outside_name",
}


@require_safe
@page
def month_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    listed = lines_sorted(request, months(actor), MONTH_COLUMNS, "-month")
    if file_asked(request):
        return MONTHS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    return render(request, "desk/months.html", {"rows": rows, "headings": listed.headings, **_proof_told(actor)})


def _proof_told(actor: User) -> dict[str, Any]:
    newest = proofs(actor).first()
    return {"proof": newest, "proof_is_fresh": newest is not None and proof_is_fresh(newest)}


@require_http_methods(["GET", "HEAD", "POST"])
@page
def month_page(request: HttpRequest, actor: User, month: str) -> HttpResponse:
    """GET shows the steps; POST does one of the acts that closing and reopening are made of."""
    page_opens_to(actor, MONEY, WHAT)
    first_day = _month(month)
    form, refusal = _acted(request, actor, first_day) if request.method == "POST" else (None, None)
    if form is None and refusal is None and request.method == "POST":
        return redirect("month", month=month)
    period = period_of(actor, first_day)
    told = {
        "month": first_day,
        "period": period,
        "state": period.state if period else "open",
        "accounts": dict(ACCOUNT_WORDS),
        "steps": [(step, _address(step, month)) for step in month_end_steps(actor, first_day)],
        "history": list(period.steps.all()) if period else [],
        "confirm_form": form if isinstance(form, ConfirmForm) else ConfirmForm(),
        "why_form": form if isinstance(form, WhyForm) else WhyForm(),
        "refusal": refusal,
        **_proof_told(actor),
    }
    status = refusal.status if refusal else 400 if form is not None else 200
    return render(request, "desk/month.html", told, status=status)


def _month(text: str) -> date:
    try:
        return date.fromisoformat(f"{text}-01")
    except ValueError as error:
        raise Http404 from error


def _address(step: MonthStep, month: str) -> str:
    """Of the page where the step is done; this page's own steps have none."""
    if step.name == "month":
        return ""
    try:
        address = reverse(step.name)
    except NoReverseMatch:
        return ""
    return f"{address}?{urlencode(step.query)}" if step.query else address


def _acted(request: HttpRequest, actor: User, month: date) -> tuple[forms.Form | None, Refusal | None]:
    """The form that has to be shown again and what was refused; both None where it was done."""
    act = request.POST.get("act", "")
    if act not in ACTS:
        raise Http404
    kind, write, words = ACTS[act]
    form = kind(request.POST)
    if not form.is_valid():
        return form, None
    refusal = tried(lambda: write(request, actor, month, form))
    if refusal is None:
        messages.success(request, words)
        return None, None
    return form, refusal_place(form, refusal, OUTSIDER)


def _stamp(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


def _version(request: HttpRequest) -> int | None:
    said = request.POST.get("version", "")
    return int(said) if said.isascii() and said.isdigit() and len(said) < 10 else None


def _period(actor: User, month: date) -> Any:
    found = period_of(actor, month)
    if found is None:
        raise Http404
    return found


def _close_ask(request: HttpRequest, actor: User, month: date, form: Any) -> object:
    return period_close_ask(month=month, expected=_version(request), stamp=_stamp(actor))


def _close_confirm(request: HttpRequest, actor: User, month: date, form: Any) -> object:
    period = _period(actor, month)
    return period_close_confirm(
        period=period, outsider=form.outsider(), expected=_version(request), stamp=_stamp(actor)
    )


def _reopen_ask(request: HttpRequest, actor: User, month: date, form: Any) -> object:
    stamp = _stamp(actor, form.cleaned_data["reason"])
    return period_reopen_ask(period=_period(actor, month), expected=_version(request), stamp=stamp)


def _reopen_confirm(request: HttpRequest, actor: User, month: date, form: Any) -> object:
    period = _period(actor, month)
    return period_reopen_confirm(
        period=period, outsider=form.outsider(), expected=_version(request), stamp=_stamp(actor)
    )


def _withdraw(request: HttpRequest, actor: User, month: date, form: Any) -> object:
    return period_withdraw(period=_period(actor, month), expected=_version(request), stamp=_stamp(actor))


Write = Callable[[HttpRequest, User, date, Any], object]
ACTS: dict[str, tuple[type[forms.Form], Write, str]] = {
    "ask-close": (forms.Form, _close_ask, "Another person has to confirm now."),
    "confirm-close": (ConfirmForm, _close_confirm, "The month is closed."),
    "ask-reopen": (WhyForm, _reopen_ask, "Another person has to confirm now."),
    "confirm-reopen": (ConfirmForm, _reopen_confirm, "The month is open again."),
    "withdraw": (forms.Form, _withdraw, "Taken back."),
}


@require_safe
@page
def proof_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, "The page of proofs")
    listed = rows_sorted(request, proofs(actor), PROOF_COLUMNS, "-ran")
    if file_asked(request):
        return PROOFS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    return render(request, "desk/proofs.html", {"rows": rows, "headings": listed.headings, **_proof_told(actor)})


@require_safe
@page
def proof_page(request: HttpRequest, actor: User, proof_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, "The page of proofs")
    found = proof_get(actor, proof_id)
    return render(request, "desk/proof.html", {"proof": found, "is_fresh": proof_is_fresh(found)})


@require_POST
@page
def proof_ran(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, "Running the proof")
    return redirect("proof", proof_id=proof_run(now(), actor).public_id)
