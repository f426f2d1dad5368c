"""Changing rate books: drafted, rows typed one by one or read from a file, put in force, retired, discarded."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from orders import flow
from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.forms import asked
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.rate_forms import (
    CsvForm,
    DayForm,
    DraftForm,
    file_text,
    lines_of,
    other_errors,
    rate_fields,
    typed_row,
)
from orders.desk.views.pages import page
from orders.desk.views.rate_books import effect_shown
from orders.estimates.convert import rate_rows
from orders.estimates.models import RateBook
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.selectors import method_names, rate_book_get, rate_books
from orders.estimates.services import (
    rate_add,
    rate_book_copy,
    rate_book_discard,
    rate_book_draft,
    rate_book_retire,
    rate_edit,
    rate_remove,
    rates_import,
)

WHAT = "Changing rate books"
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _stamp(actor: User) -> Stamp:
    return Stamp(by=actor, at=now())


def _book(actor: User, book_id: UUID) -> RateBook:
    page_opens_to(actor, DESK, WHAT)
    return rate_book_get(book_id)


@form_page
@page
def rate_book_new(request: HttpRequest, actor: User) -> HttpResponse:
    """A draft from nothing but a file; crew and skills are filled in from the newest book."""
    page_opens_to(actor, DESK, WHAT)
    newest = rate_books().first()
    crew = (
        {"standard_crew": lines_of(newest.standard_crew), "skill_roles": lines_of(newest.skill_roles)} if newest else {}
    )
    form = DraftForm(request.POST or None, request.FILES or None, initial=crew)
    refusal = None
    if request.method == "POST" and form.is_valid():
        values = dict(form.cleaned_data)
        try:
            rows = rates_from_csv(file_text(values.pop("file")))
            book = rate_book_draft(rows=rows, stamp=_stamp(actor), **values)
        except Refusal as refused:
            refusal = refused
        else:
            messages.success(request, f"{book} is a draft with {len(rows)} rows.")
            return redirect("rate-book", book.public_id)
    told = {"form": form, "refusal": refusal}
    return render(request, "desk/rate_book_new.html", told, status=_status(refusal, form))


def _status(refusal: Refusal | None, form: forms.Form) -> int:
    return refusal.status if refusal else 400 if form.is_bound and not form.is_valid() else 200


@require_POST
@page
def rate_book_copied(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    copy = rate_book_copy(book=_book(actor, book_id), stamp=_stamp(actor))
    messages.success(request, f"{copy} is a draft now: change its rows, look at its effect, then put it in force.")
    return redirect("rate-book", copy.public_id)


@require_POST
@page
def rate_book_discarded(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    book = _book(actor, book_id)
    rate_book_discard(book=book, stamp=_stamp(actor))
    messages.success(request, f"{book} was thrown away. The record of who changed what stays.")
    return redirect("rate-books")


@require_POST
@page
def rate_book_retired(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    book = _book(actor, book_id)
    rate_book_retire(book=book, last_day=asked(DayForm(request.POST))["day"], stamp=_stamp(actor))
    messages.success(request, f"{book} is retired. Nothing can be estimated for its crews until another is in force.")
    return redirect("rate-book", book.public_id)


@require_POST
@page
def rate_book_in_force_put(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    book, form = _book(actor, book_id), DayForm(request.POST)
    day = asked(form)["day"]
    try:
        flow.put_rate_book_in_force(book=book, from_day=day, stamp=_stamp(actor))
    except Refusal as refusal:
        return effect_shown(request, actor, book, form, refusal)
    messages.success(
        request, f"{book} is in force from {day:%B} {day.day}, {day.year}. Estimates keep the book they used."
    )
    return redirect("rate-book", book.public_id)


@require_POST
@page
def rate_book_read(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    """All rates of a draft from a file."""
    book = _book(actor, book_id)
    typed = asked(CsvForm(request.POST, request.FILES))
    rates_import(book=book, text=file_text(typed["file"]), expected=typed["version"], stamp=_stamp(actor))
    messages.success(request, f"{book} holds {book.rates.count()} rows now. Look at the difference and the effect.")
    return redirect("rate-book", book.public_id)


@form_page
@page
def rate_row(request: HttpRequest, actor: User, book_id: UUID, line: int) -> HttpResponse:
    """One row of a draft in a form: save it, or take it out."""
    book = _book(actor, book_id)
    rows = rate_rows(book)
    if not 1 <= line <= len(rows):
        raise NotFound(f"The rate book has no line {line}.")
    if request.method != "POST":
        return _row_form(request, book, line, rows[line - 1])
    typed = typed_row(request.POST)
    try:
        expected = _version(request)
        if "remove" in request.POST:
            rate_remove(book=book, line=line, expected=expected, stamp=_stamp(actor))
        else:
            rate_edit(book=book, line=line, values=typed, expected=expected, stamp=_stamp(actor))
    except Refusal as refusal:
        return _row_form(request, book, line, typed, refusal)
    messages.success(request, f"Line {line} is {'taken out' if 'remove' in request.POST else 'saved'}.")
    return redirect("rate-book", book.public_id)


@form_page
@page
def rate_row_new(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    """A new row at the end of a draft."""
    book = _book(actor, book_id)
    line = book.rates.count() + 1
    if request.method != "POST":
        return _row_form(
            request, book, line, {"kind": "rate", "method": request.GET.get("method", "")[:20]}, is_new=True
        )
    typed = typed_row(request.POST)
    try:
        rate_add(book=book, values=typed, expected=_version(request), stamp=_stamp(actor))
    except Refusal as refusal:
        return _row_form(request, book, line, typed, refusal, is_new=True)
    messages.success(request, f"Line {line} is added.")
    return redirect("rate-book", book.public_id)


def _version(request: HttpRequest) -> int:
    text = request.POST.get("version", "")
    return int(text) if text.isdecimal() and len(text) < 9 else 0


def _row_form(
    request: HttpRequest,
    book: RateBook,
    line: int,
    values: dict[str, str],
    refusal: Refusal | None = None,
    *,
    is_new: bool = False,
) -> HttpResponse:
    told: dict[str, Any] = {
        "book": book,
        "line": line,
        "is_new": is_new,
        "fields": rate_fields(values, refusal, line, method_names()),
        "refusal": refusal,
        "other_errors": other_errors(refusal, line),
        "is_draft": book.state == "draft",
    }
    return render(request, "desk/rate_book_row.html", told, status=refusal.status if refusal else 200)
