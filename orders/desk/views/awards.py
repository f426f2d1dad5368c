"""An award's statement and terms, and the charges that wait for finance."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.models import User
from orders.costs.fund_selectors import CATEGORY_NAMES, award_seen, award_terms, held_charge_get, held_charges
from orders.costs.services.awards import RULESETS, award_edit, award_term_add
from orders.costs.services.held import held_charges_settle
from orders.costs.services.indirect import indirect_post
from orders.costs.statements import award_statement
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.fund_forms import AwardEditForm, HeldAskForm, SettleForm, TermForm, payer_of
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import HELD
from orders.desk.views.funds import FormPage, form_done, may, stamped
from orders.desk.views.pages import page, tried
from orders.reports.as_of import books_day
from orders.reports.asking import Asked

form_page = require_http_methods(["GET", "HEAD", "POST"])
ROWS_A_PAGE = 50
HELD_COLUMNS = {
    "what": Sortable("What", "source_kind"),
    "day": Sortable("Work of", "work_date"),
    "meant": Sortable("Meant for", "fund__code"),
    "why": Sortable("Why", "code"),
    "amount": Sortable("Amount", "amount_cents", is_number=True),
    "raised": Sortable("Age", "raised_at"),
}
SETTLED_COLUMNS = {**HELD_COLUMNS, "raised": Sortable("Settled", "settled_at")}
SOURCES = {
    "time_entry": "Time on an order",
    "material_use": "Material",
    "visit_drive": "Drive",
    "visit_equipment": "Equipment",
    "overtime": "Overtime premium",
    "day_line": "Paid time, no order",
    "stock_value": "Stock",
    "equipment_hours": "Machine hours",
    "trip": "Trip",
    "bill_line": "Bill",
    "indirect": "Indirect cost",
}


@require_safe
@page
def award_page(request: HttpRequest, actor: User, award_id: UUID) -> HttpResponse:
    may(actor)
    award = award_seen(actor, award_id)
    today = stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)
    statement = award_statement(actor, award, max(today, books_day(Asked())))
    told = {
        "award": award,
        "statement": statement,
        "terms": award_terms(actor).filter(award=award),
        "category_names": CATEGORY_NAMES,
        "rulesets": RULESETS,
        "to_post_cents": statement.indirect_due_cents - statement.indirect_cents,
        "has_begun": award.first_day <= today,
        "is_over": award.last_day < today,
        "days_left": max(0, (award.last_day - today).days),
    }
    return render(request, "desk/award.html", told)


def _words(award: Any, title: str, button: str, about: str) -> FormPage:
    return FormPage(title, button, reverse("money-award", args=[award.public_id]), award.name, about=about)


@form_page
@page
def award_amended(request: HttpRequest, actor: User, award_id: UUID) -> HttpResponse:
    may(actor)
    award = award_seen(actor, award_id)
    form = AwardEditForm(request.POST) if request.method == "POST" else AwardEditForm.of(award)
    about = "What the funder amended. What is charged to the award already must still fit."

    def write() -> str:
        expected = form.cleaned_data["version"]
        award_edit(award=award, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{award.code} is changed."

    return form_done(request, _words(award, f"Amend {award.name}", "Change the award", about), form, write)


@form_page
@page
def term_new(request: HttpRequest, actor: User, award_id: UUID) -> HttpResponse:
    """`figures` in the address: the ruleset that fills the form in."""
    may(actor)
    award = award_seen(actor, award_id)
    form = TermForm(request.POST) if request.method == "POST" else TermForm.prefilled(request.GET.get("figures", ""))
    about = (
        "Terms are added and never changed: these hold from their day on. The figures decide, whatever they are "
        "named after; check them against the letter of award."
    )

    def write() -> str:
        award_term_add(award=award, **form.values(), stamp=stamped(actor))
        return f"The terms of {award.code} are added."

    return form_done(request, _words(award, f"New terms of {award.name}", "Add the terms", about), form, write)


@dataclass(frozen=True)
class Waiting:
    """A held charge as it is listed. `days` is how long it has waited."""

    held: Any
    source: str
    days: int
    is_ticked: bool


@form_page
@page
def held_page(request: HttpRequest, actor: User) -> HttpResponse:
    may(actor)
    if request.method != "POST":
        return _held_shown(request, actor, SettleForm(), None, set())
    form, ticked = SettleForm(request.POST), set(request.POST.getlist("held"))
    refusal: Refusal | None = None
    if form.is_valid():
        refusal = tried(lambda: _settle(actor, form.cleaned_data, ticked))
        if refusal is None:
            messages.success(request, f"{len(ticked)} settled: {_payer_words(form)} pays.")
            return redirect(request.get_full_path())
    return _held_shown(request, actor, form, refusal, ticked)


def _payer_words(form: SettleForm) -> str:
    return str(dict(form.fields["payer"].choices)[form.cleaned_data["payer"]])  # type: ignore[attr-defined]


def _settle(actor: User, told: dict[str, Any], ticked: set[str]) -> None:
    if not ticked:
        raise Invalid("Nothing was settled.", [FieldError("held", "Tick what it is about.")])
    stamp, payer = stamped(actor, told["reason"]), payer_of(told["payer"])
    held_charges_settle(
        held=[held_charge_get(actor, _id(text)) for text in sorted(ticked)],
        fund=payer.fund,
        award=payer.award,
        posted_on=stamp.local_date(settings.PROGRAM_TIME_ZONE),
        stamp=stamp,
    )


def _id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise Invalid("Nothing was settled.", [FieldError("held", "This is no held charge.")]) from error


def _held_shown(
    request: HttpRequest, actor: User, form: SettleForm, refusal: Refusal | None, ticked: set[str]
) -> HttpResponse:
    question = asked(HeldAskForm(request.GET))
    state = question["state"] or "waiting"
    found = held_charges(actor).filter(state=state)
    columns = SETTLED_COLUMNS if state == "settled" else HELD_COLUMNS
    sorted_by = rows_sorted(request, found, columns, "")
    if file_asked(request):
        return HELD.reply(sorted_by.found)
    rows = sorted_by.page(question["page"] or 1, ROWS_A_PAGE)
    at = stamped(actor).at
    listed = [
        Waiting(
            held=row,
            source=SOURCES.get(row.source_kind, row.source_kind),
            days=(at - row.raised_at).days,
            is_ticked=str(row.public_id) in ticked,
        )
        for row in rows
    ]
    told = {"rows": rows, "listed": listed, "state": state, "form": form, "refusal": refusal}
    told |= {"sort": sorted_by.sort, "headings": sorted_by.headings}
    status = refusal.status if refusal else 400 if form.errors else 200
    return render(request, "desk/held.html", told, status=status)


@require_POST
@page
def indirect_posted(request: HttpRequest, actor: User, month: str) -> HttpResponse:
    """A step of the month's end: what the awards owe the program for running it."""
    may(actor)
    posted = indirect_post(month=_month(month), stamp=stamped(actor))
    messages.success(request, f"Indirect cost is posted: {len(posted)} row{'' if len(posted) == 1 else 's'} anew.")
    return redirect("month", month=month)


def _month(text: str) -> date:
    try:
        return date.fromisoformat(f"{text}-01")
    except ValueError as error:
        raise Http404 from error
