"""Prices from a day on, and how each came about."""

from collections.abc import Callable
from datetime import date
from uuid import UUID

from django.conf import settings
from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.dateformat import format as date_words
from django.views.decorators.http import require_safe

from orders.common.errors import Invalid
from orders.common.models import User
from orders.desk.charts import lines
from orders.desk.navigation import DESK, EVERY_ROLE, GROUND, OFFICE, Link, page_opens_to
from orders.desk.setup.kit import (
    Cell,
    Column,
    Cut,
    EditPage,
    Listing,
    edit_done,
    form_page,
    list_shown,
    stamped,
)
from orders.desk.setup.prices_forms import DOLLAR_E4, PriceForm, names, shown_e4
from orders.desk.views.pages import page
from orders.supplies.models import Price
from orders.supplies.selectors import price_get, prices_listed
from orders.supplies.services import price_set

WHAT = "Setting prices"
PURPOSE = (
    "What a gallon, a mile, a blade or a contractor's acre costs from a day on. Estimates are priced by the newest "
    "that has begun; of products it is what stands in stock, where that has a price. An estimate that was made keeps "
    "its prices. A price is never changed: the next one goes beside it."
)
UNITS = {"L": "a gallon", "each": "each", "mile": "a mile", "hour": "an hour", "ha": "an acre"}
AT_FIELD = {"price_e4": "price", "minimum_e4": "minimum", "code": "of", "kind": "of"}


def supply_chips(here: str, actor: User | None = None) -> list[Link]:
    """Those of the pages that the actor may open; without one, all of them."""
    named = (
        ("Mixes", "setup-mixes", EVERY_ROLE),
        ("Prices", "setup-prices", OFFICE),
        ("Products", "products", EVERY_ROLE),
        ("Volunteers' permits", "setup-permits", GROUND),
    )
    opened = [one for one in named if actor is None or actor.has_role(*one[2])]
    return [Link(words, reverse(name), name == here) for words, name, _ in opened]


@require_safe
@page
def prices_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today, known = stamped(actor).local_date(settings.PROGRAM_TIME_ZONE), names()
    columns = {
        "of": Column("Of what", "code", cell=lambda row: _of_cell(known, row)),
        "kind": Column("Kind", "kind", cell=lambda row: row.get_kind_display()),
        "price": Column("Dollars", "price_e4", True, cell=_price_cell),
        "unit": Column("For", "unit", cell=lambda row: UNITS.get(row.unit, row.unit)),
        "from": Column("From", "from_day", cell=lambda row: date_words(row.from_day, "M j, Y")),
        "state": Column("State", cell=lambda row: _state_cell(today, row)),
        "source": Column("Source", cell=lambda row: row.source),
    }
    cuts = (
        Cut("of", "Kind", [("", "All"), *Price.KINDS], lambda rows, kind: rows.filter(kind=kind) if kind else rows),
        Cut("when", "Show", [("", "What counts, and later"), ("all", "All that ever were")], _of_when(today)),
    )
    listing = Listing(
        title="Prices",
        about="Of each thing the newest price that has begun counts.",
        purpose=PURPOSE,
        columns=columns,
        usual="of",
        searched=("code", "source"),
        cuts=cuts,
        new=reverse("setup-price-new") if actor.has_role(*DESK) else "",
        new_words="Set a price",
        chips=supply_chips("setup-prices", actor),
    )
    return list_shown(request, listing, _with_newest(today))


def _with_newest(today: date) -> QuerySet[Price]:
    same = Price.objects.filter(kind=OuterRef("kind"), code=OuterRef("code"), from_day__lte=today)
    newest = Subquery(same.order_by("-from_day").values("from_day")[:1])
    return prices_listed().annotate(counts_from=newest)


def _of_when(today: date) -> Callable[[QuerySet[Price], str], QuerySet[Price]]:
    counts = Q(from_day__gt=today) | Q(from_day=F("counts_from"))
    return lambda rows, value: rows if value == "all" else rows.filter(counts)


def _words(known: dict[tuple[str, str], str], row: Price) -> str:
    return known.get((row.kind, row.code), row.code)


def _of_cell(known: dict[tuple[str, str], str], row: Price) -> Cell:
    return Cell(_words(known, row), reverse("setup-price", args=[row.public_id]))


def _price_cell(row: Price) -> Cell:
    least = "" if row.minimum_e4 is None else f"{_dollars(row.minimum_e4)} for a job at least"
    return Cell(_dollars(shown_e4(row)), quiet=least)


def _dollars(amount_e4: int) -> str:
    text = f"${amount_e4 / DOLLAR_E4:,.4f}"
    return text.removesuffix("00")


def _state_cell(today: date, row: Price) -> Cell:
    if row.from_day > today:
        return Cell("later", state="wait")
    counts = row.from_day == getattr(row, "counts_from", None)
    return Cell("counts", state="good") if counts else Cell("before", state="off")


@require_safe
@page
def price_page(request: HttpRequest, actor: User, price_id: UUID) -> HttpResponse:
    """One thing's prices over time."""
    page_opens_to(actor, OFFICE, WHAT)
    row, today = price_get(price_id), stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)
    listed = list(_with_newest(today).filter(kind=row.kind, code=row.code))
    named, unit = _words(names(), row), UNITS.get(row.unit, row.unit)
    days = [date_words(one.from_day, "M j, Y") for one in reversed(listed)]
    course = (f"Dollars, {unit}", None, [shown_e4(one) / DOLLAR_E4 for one in reversed(listed)], None)
    told = {
        "named": named,
        "unit": unit,
        "row": row,
        "lines": [(one, _price_cell(one), _state_cell(today, one)) for one in listed],
        "picture": lines(f"{named}: dollars {unit}, from each day on", days, [course], "$"),
        "may_edit": actor.has_role(*DESK),
        "chips": supply_chips("setup-prices", actor),
    }
    return render(request, "desk/setup/price.html", told)


@form_page
@page
def price_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    today = stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)
    form = PriceForm(request.POST or None, initial={"of": request.GET.get("of", ""), "from_day": today})

    def write() -> str:
        try:
            row = price_set(**form.values(), stamp=stamped(actor))
        except Invalid as refusal:
            for number, error in enumerate(refusal.errors):
                refusal.errors[number] = type(error)(AT_FIELD.get(error.field, error.field), error.message)
            raise
        return f"The price counts from {date_words(row.from_day, 'M j, Y')} on."

    words = EditPage(
        "A price", "Set the price", reverse("setup-prices"), "Prices", PURPOSE, chips=supply_chips("setup-prices")
    )
    return edit_done(request, words, form, write)
