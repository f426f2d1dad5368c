"""What stock is worth on a day, what moved, and what is to be bought; equipment hours and trips."""

from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.costs.purchase_list import SIZES_ML, purchase_list
from orders.costs.services.stocking import lot_receive_posted, stock_move_posted
from orders.costs.stock_selectors import stock_on_hand, stock_values
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.listed import file_asked, lines_sorted, rows_sorted
from orders.desk.money_list_rows import BUY, LOTS, STOCK_MOVEMENTS
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.purchase_forms import MoveForm, ReceiveForm
from orders.desk.site_forms import day_field
from orders.desk.views.pages import page
from orders.desk.views.purchases import stamped, status_of, today
from orders.planning.selectors import season_get, seasons

ROWS_A_PAGE = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])
HAND_COLUMNS = {
    "name": Sortable("Product and lot", "product__name"),
    "received": Sortable("Received"),
    "price": Sortable("Price", is_number=True),
    "amount": Sortable("On hand", is_number=True),  # in each its own unit
    "value": Sortable("Value", "value_cents", is_number=True),
}
MOVED_COLUMNS = {
    "day": Sortable("Day", "movement__on"),
    "what": Sortable("What", "movement__kind"),
    "product": Sortable("Product and lot", "product__name"),
    "amount": Sortable("Amount", is_number=True),
    "value": Sortable("Value", "value_cents", is_number=True),
    "why": Sortable("Why"),
}
BUY_COLUMNS = {
    "product": Sortable("Product", "product__name"),
    "need": Sortable("Still needed", "need_ml", is_number=True),
    "stock": Sortable("In stock", "stock_ml", is_number=True),
    "buy": Sortable("Buy"),
    "left": Sortable("Left over", "spare_ml", is_number=True),
    "cost": Sortable("Cost", "cost_cents", is_number=True),
    "supplier": Sortable("Supplier", "supplier"),
}
VALUATIONS = {
    "lot": "at the price of the lot that was used",
    "fifo": "first in, first out",
    "average": "at the moving average",
}


class OnForm(forms.Form):
    on = day_field("On")
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["on"].required = False


class BuyForm(forms.Form):
    season = forms.UUIDField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(str(row.public_id), row.name) for row in seasons()]
        self.fields["season"] = forms.ChoiceField(required=False, label="Season", choices=named)


def _may(actor: User) -> None:
    page_opens_to(actor, MONEY, "The pages of stock and its value")


@require_safe
@page
def stock_page(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form = OnForm(request.GET)
    said = asked(form)
    on: date = said["on"] or today(actor)
    moved = stock_values(actor).filter(movement__on__lte=on)
    listed = rows_sorted(request, moved, MOVED_COLUMNS, "")
    if file_asked(request):
        return STOCK_MOVEMENTS.reply(listed.found)
    stock = stock_on_hand(actor, on)
    on_hand = lines_sorted(request, stock.rows, HAND_COLUMNS, "", "hand_")
    if file_asked(request, "lots"):
        return LOTS.reply((row, lot) for row in on_hand.found for lot in row.lots)
    shown = {
        "form": OnForm(initial={"on": on}),
        "stock": stock,
        "on_hand": on_hand,
        "valuation": VALUATIONS[stock.valuation],
        "rows": listed.page(said["page"] or 1, ROWS_A_PAGE),
        "moved": listed,
    }
    return render(request, "desk/stock_value.html", shown)


@form_page
@page
def stock_receive(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form = ReceiveForm(request.POST or None, initial={"received_on": today(actor)})

    def act() -> None:
        lot_receive_posted(posted_on=today(actor), stamp=stamped(actor), **form.facts())

    return _moved(
        request, form, act, "Receive a lot", "It is in stock now, and is to be paid until a bill says who pays."
    )


@form_page
@page
def stock_count(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form = MoveForm(request.POST or None, initial={"on": today(actor)})

    def act() -> None:
        stock_move_posted(posted_on=today(actor), stamp=stamped(actor), **form.facts())

    return _moved(request, form, act, "Count or write off", "Stock and its value are set right.")


def _moved(request: HttpRequest, form: Any, act: Any, title: str, done: str) -> HttpResponse:
    refusal = None
    if request.method == "POST" and form.is_valid():
        try:
            act()
        except Refusal as refused:
            refusal = refused
        else:
            messages.success(request, done)
            return redirect("stock-value")
    told = {"form": form, "refusal": refusal, "title": title}
    return render(request, "desk/stock_move.html", told, status=status_of(refusal, form))


@require_safe
@page
def purchase_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form = BuyForm(request.GET)
    named = asked(form)["season"]
    season = season_get(UUID(named)) if named else seasons().first()
    told: dict[str, Any] = {"form": form, "season": season, "sizes": SIZES_ML}
    if season is not None:
        told["form"] = BuyForm(initial={"season": str(season.public_id)})
        told["list"] = purchase_list(actor, season, today(actor))
        listed = lines_sorted(request, told["list"].rows, BUY_COLUMNS, "")
        if file_asked(request):
            return BUY.reply(listed.found)
        told |= {"rows": listed.found, "headings": listed.headings, "sort": listed.sort}
    return render(request, "desk/purchase_list.html", told)
