"""Choosing a method for patches: what it would do, doing it, and putting it back."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders import flow
from orders.common.clock import now
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.patch_list import ChooseForm
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.planning.choosing import PreviewOutOfDate, choice_batch_undo
from orders.planning.preview import Preview
from orders.planning.selectors import choice_batch_get, choice_batches

ROWS_A_PAGE = 25
WHAT = "Choosing methods"


@require_http_methods(["GET", "HEAD", "POST"])
@page
def choose_page(request: HttpRequest, actor: User) -> HttpResponse:
    """GET shows what would be done and stores nothing; POST does it as it was shown."""
    page_opens_to(actor, DESK, WHAT)
    today = today_of(actor)
    sent = request.POST if request.method == "POST" else request.GET
    form = ChooseForm(sent, today=today)
    marked = sent.getlist("patch")
    ask = form.ask(marked, today)
    said: tuple[str, list[FieldError]] = ("", [])
    if request.method == "POST":
        try:
            batch = flow.choose_methods(
                ask=ask, on=today, fingerprint=sent.get("fingerprint", ""), stamp=Stamp(by=actor, at=now())
            )
        except (Invalid, PreviewOutOfDate) as refusal:
            said = refusal.detail, refusal.errors
        else:
            messages.success(request, "The choice is made. It can be put back until something of it is ordered.")
            return redirect("choice", batch_id=batch.public_id)
    preview = flow.preview_choices(ask=ask, on=today)
    status = 200 if not said[0] else 400
    return render(request, "desk/choose.html", _told(preview, form, marked, said), status=status)


def _told(preview: Preview, form: ChooseForm, marked: list[str], said: tuple[str, list[FieldError]]) -> dict[str, Any]:
    question = form.question()
    kept = {name: form.cleaned_data[name] for name in ("method", "scope", "crew")}
    kept |= {**question.said(), "keep": "1" if form.cleaned_data["keep"] else ""}
    return {
        "preview": preview,
        "question": question,
        "hidden": [(name, value) for name, value in kept.items() if value],
        "marked": marked,
        "refusal": said[0],
        "why_errors": [error.message for error in said[1] if error.field == "why"],
        "other_errors": [error for error in said[1] if error.field != "why"],
        "asks_why": any(row.needs_why for row in preview.new),
        "season_rows": season_rows(preview),
    }


def season_rows(preview: Preview) -> list[dict[str, Any]]:
    """How full the season is: before, with the choice, and what the crews can give; `share` in percent of it."""
    before, after, gives = preview.before, preview.after, preview.capacity
    hours = (
        ("Paid person-hours", before.paid_hours, after.paid_hours, gives.paid_hours),
        (
            "of them by people with a license",
            before.licensed_paid_hours,
            after.licensed_paid_hours,
            gives.licensed_paid_hours,
        ),
    )
    return [
        {
            "name": name,
            "before": was,
            "after": will,
            "gives": most,
            "share": 100 * will / most if most else None,
            "is_over": will > most,
        }
        for name, was, will, most in hours
    ]


@require_safe
@page
def choice_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    number = request.GET.get("page", "1")
    rows = Paginator(choice_batches(), ROWS_A_PAGE).get_page(number)
    return render(request, "desk/choices.html", {"rows": rows, "may_choose": actor.has_role(*DESK)})


@require_safe
@page
def choice_page(request: HttpRequest, actor: User, batch_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    told = {"batch": choice_batch_get(batch_id), "may_choose": actor.has_role(*DESK)}
    return render(request, "desk/choice.html", told)


@require_POST
@page
def choice_undo(request: HttpRequest, actor: User, batch_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    choice_batch_undo(batch=choice_batch_get(batch_id), stamp=Stamp(by=actor, at=now()))
    messages.success(request, "The choice is undone: everything is as it was before it.")
    return redirect("choice", batch_id=batch_id)
