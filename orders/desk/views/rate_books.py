"""Rate books to look at: the list, one book's rates, a difference, the effect on open work, who changed what."""

from dataclasses import dataclass
from typing import Any, NamedTuple
from uuid import UUID

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.spread import SeasonFit
from orders import flow
from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, NotFound, Refusal
from orders.common.kept import changes_version, kept
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.chart_svg import Chart
from orders.desk.charts import paired_bars
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.list_rows import RATE_BOOKS
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.rate_forms import CsvForm, DayForm, RowsForm
from orders.desk.rate_words import changes_told, rates_by_method
from orders.desk.views.pages import page
from orders.estimates.again import Effect, EffectSum, rate_book_warnings
from orders.estimates.convert import rate_rows
from orders.estimates.models import RateBook
from orders.estimates.rate_csv import rates_csv
from orders.estimates.rate_difference import rate_book_difference
from orders.estimates.selectors import method_names, rate_book_changes, rate_book_get, rate_books, rate_books_holding

WHAT = "The pages of rate books"
BOOKS_A_PAGE = 50
ROWS_A_PAGE = 50
COLUMNS = {
    "name": Sortable("Name and edition", "name"),
    "crews": Sortable("For", "crew_kind"),
    "state": Sortable("State", "state"),
    "from": Sortable("In force from", "in_force_from"),
    "until": Sortable("Until", "in_force_until"),
}
STATES = {"draft": "state-wait", "in_force": "state-good", "retired": "state-off"}


def may_edit(actor: User) -> bool:
    return actor.has_role(*DESK)


def book_shown(actor: User, book_id: UUID) -> RateBook:
    page_opens_to(actor, OFFICE, WHAT)
    return rate_book_get(book_id)


@require_safe
@page
def rate_books_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    listed = rows_sorted(request, rate_books(), COLUMNS, "")
    if file_asked(request):
        return RATE_BOOKS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), BOOKS_A_PAGE)
    told = {"rows": rows, "books": [(book, STATES[book.state]) for book in rows], "headings": listed.headings}
    return render(request, "desk/rate_books.html", {**told, "may_edit": may_edit(actor)})


@require_safe
@page
def rate_book_page(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    book = book_shown(actor, book_id)
    form = RowsForm(request.GET)
    question = asked(form)
    names = method_names()
    held = set(book.rates.order_by().values_list("method", flat=True))
    told = {
        "book": book,
        "state": STATES[book.state],
        "groups": rates_by_method(book, names, question),
        "rows_held": book.rates.count(),
        "question": question,
        "form": form,
        "method_choices": [(code, name) for code, name in names.items() if code in held],
        "warnings": _warnings(book),
        "others": rate_books().exclude(pk=book.pk),
        "may_edit": may_edit(actor) and book.state == "draft",
        "may_copy": may_edit(actor),
        "csv_form": CsvForm(initial={"version": book.version}),
        "retire_form": DayForm(),
    }
    return render(request, "desk/rate_book.html", told)


def _warnings(book: RateBook) -> dict[str, Any]:
    """A draft may not be whole yet: why it cannot be held against anything is said in place of warnings."""
    try:
        return {"found": rate_book_warnings(book), "not_held": ""}
    except Refusal as refusal:
        return {"found": (), "not_held": refusal.detail}


@require_safe
@page
def rate_book_file(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    """The rates as CSV, to the letter, as they can be read in again."""
    book = book_shown(actor, book_id)
    reply = HttpResponse(rates_csv(rate_rows(book)), content_type="text/csv; charset=utf-8; header=present")
    reply["Content-Disposition"] = f'attachment; filename="rates-{book.crew_kind}-{book.edition}.csv"'
    return reply


@require_safe
@page
def rate_book_difference_page(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    """From another book (the one in force, unless one is named) to this one."""
    book = book_shown(actor, book_id)
    old = _other(request, book)
    found = rate_book_difference(old, book)
    names = method_names()
    told = {
        "book": book,
        "old": old,
        "difference": found,
        "groups": [(names.get(code, code) or "All methods", rows) for code, rows in found.by_method],
        "counts": [(word.capitalize(), found.count(word)) for word in ("changed", "added", "removed")],
        "others": rate_books().exclude(pk=book.pk),
    }
    return render(request, "desk/rate_book_difference.html", told)


def _other(request: HttpRequest, book: RateBook) -> RateBook:
    named = request.GET.get("from", "")
    if not named:
        found = rate_books().filter(crew_kind=book.crew_kind, state="in_force").exclude(pk=book.pk).first()
        found = found or rate_books().exclude(pk=book.pk).first()
        if found is None:
            raise NotFound("There is no other rate book to compare with.")
        return found
    try:
        return rate_book_get(UUID(named))
    except ValueError as error:
        raise Invalid("This cannot be compared.", [FieldError("from", "names no rate book")]) from error


@require_safe
@page
def rate_book_effect_page(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    return effect_shown(request, actor, book_shown(actor, book_id))


class RowShown(NamedTuple):
    """One estimate of an effect."""

    estimate_id: UUID
    patch: str
    method: str
    share: float
    old_hours: float
    new_hours: float | None
    old_cents: int
    new_cents: int | None


@dataclass(frozen=True)
class EffectShown:
    """What the page shows of an effect, and no more: it is kept."""

    total: EffectSum
    by_method: list[EffectSum]
    old_range: SeasonFit
    new_range: SeasonFit
    other_prices: int
    rows: list[RowShown]


def _shown(effect: Effect) -> EffectShown:
    rows = [
        RowShown(
            row.estimate.public_id,
            str(row.estimate.survey.patch),
            str(row.estimate.method),
            row.share,
            row.old_hours,
            row.new_hours,
            row.old_cents,
            row.new_cents,
        )
        for row in effect.rows
    ]
    return EffectShown(effect.total, effect.by_method, effect.old_range, effect.new_range, effect.other_prices, rows)


def effect_shown(
    request: HttpRequest, actor: User, book: RateBook, form: DayForm | None = None, refusal: Refusal | None = None
) -> HttpResponse:
    """The effect, and for a draft the form that puts it in force."""
    on = Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
    name = f"rate-book-effect/{book.pk}/{on}"
    effect = kept(name, changes_version(), lambda: _shown(flow.rate_book_effect_on_open(book=book, on=on)))
    told = {
        "book": book,
        "on": on,
        "effect": effect,
        "rows": Paginator(effect.rows, ROWS_A_PAGE).get_page(request.GET.get("page", "1")),
        "chart": _chart(effect),
        "holding": rate_books_holding(on).get(book.crew_kind),
        "may_put": may_edit(actor) and book.state == "draft",
        "form": form or DayForm(initial={"day": on}),
        "refusal": refusal,
    }
    return render(request, "desk/rate_book_effect.html", told, status=refusal.status if refusal else 200)


def _chart(effect: EffectShown) -> Chart:
    rows = [(part.name, part.old_hours, part.new_hours) for part in effect.by_method]
    return paired_bars("Field person-hours of open work, by method", rows, "h", ("As it stands", "By this book"))


@require_safe
@page
def rate_book_changes_page(request: HttpRequest, actor: User, book_id: UUID) -> HttpResponse:
    book = book_shown(actor, book_id)
    return render(request, "desk/rate_book_changes.html", {"book": book, "told": changes_told(rate_book_changes(book))})
