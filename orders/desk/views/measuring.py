"""Equipment hours and trips, entered by order. No amount stands on these pages: the desk enters them too."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.costs.purchase_selectors import equipment_hours, equipment_hours_get, standing, trip_get, trips
from orders.costs.services.measuring import (
    equipment_hours_add,
    equipment_hours_correct,
    trip_add,
    trip_correct,
)
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import EQUIPMENT_HOURS, TRIPS
from orders.desk.navigation import DESK, MONEY, page_opens_to
from orders.desk.purchase_forms import HoursCorrectForm, HoursForm, OrderForm, TripCorrectForm, TripForm
from orders.desk.views.pages import page
from orders.desk.views.purchases import stamped, status_of, today
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_by_number

ROWS_A_PAGE = 50
HOURS_COLUMNS = {
    "day": Sortable("Day", "work_date"),
    "machine": Sortable("Machine", "equipment__name"),
    "order": Sortable("Order", "order__number"),
    "operating": Sortable("Operating", "operating_minutes", is_number=True),
    "standby": Sortable("Standby", "standby_minutes", is_number=True),
    "change": Sortable("Change"),
}
TRIPS_COLUMNS = {
    "day": Sortable("Day", "work_date"),
    "vehicle": Sortable("Vehicle", "vehicle"),
    "order": Sortable("Order", "order__number"),
    "purpose": Sortable("Purpose", "purpose"),
    "miles": Sortable("Miles", "miles_tenths", is_number=True),
    "change": Sortable("Change"),
}
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _may(actor: User) -> None:
    page_opens_to(actor, MONEY | DESK, "The pages of equipment hours and trips")


def _order(request: HttpRequest, actor: User) -> WorkOrder | None:
    number = asked(OrderForm(request.GET))["order"]
    return order_by_number(actor, number, on=today(actor)) if number else None


@require_safe
@page
def equipment_page(request: HttpRequest, actor: User) -> HttpResponse:
    """What stands, of one order or of all."""
    _may(actor)
    said = asked(OrderForm(request.GET))
    order = _order(request, actor)
    hours, miles = equipment_hours(actor).filter(standing()), trips(actor).filter(standing())
    if order is not None:
        hours, miles = hours.filter(order=order), miles.filter(order=order)
    of_hours = rows_sorted(request, hours, HOURS_COLUMNS, "")
    of_trips = rows_sorted(request, miles, TRIPS_COLUMNS, "", "trips_")
    if file_asked(request):
        return EQUIPMENT_HOURS.reply(of_hours.found)
    if file_asked(request, "trips"):
        return TRIPS.reply(of_trips.found)
    told = {
        "form": OrderForm(initial={"order": said["order"]}),
        "order": order,
        "hours": of_hours.page(said["page"] or 1, ROWS_A_PAGE),
        "hours_headings": of_hours.headings,
        "trips": of_trips.page(said["trips_page"] or 1, ROWS_A_PAGE),
        "trips_headings": of_trips.headings,
        "sorts": [(name, sort) for name, sort in (("sort", of_hours.sort), ("trips_sort", of_trips.sort)) if sort],
        "sees_money": actor.has_role(*MONEY),
    }
    return render(request, "desk/equipment_hours.html", told)


@form_page
@page
def hours_new(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    order = _order(request, actor)
    if order is None:
        return redirect("equipment-hours")
    form = HoursForm(request.POST or None, order=order, initial={"work_date": order.first_day})

    def act() -> None:
        facts = form.facts()
        equipment_hours_add(order=order, posted_on=today(actor), stamp=stamped(actor), **facts)

    return _entered(request, actor, form, act, f"Equipment hours on {order}")


@form_page
@page
def trip_new(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    order = _order(request, actor)
    form = TripForm(request.POST or None, order=order, initial={"work_date": today(actor)})

    def act() -> None:
        trip_add(posted_on=today(actor), stamp=stamped(actor), **form.facts())

    return _entered(request, actor, form, act, f"A trip for {order}" if order else "A trip for no order")


@form_page
@page
def hours_corrected(request: HttpRequest, actor: User, hours_id: UUID) -> HttpResponse:
    _may(actor)
    row = equipment_hours_get(actor, hours_id)
    stands = {"operating_minutes": row.operating_minutes, "standby_minutes": row.standby_minutes}
    form = HoursCorrectForm(request.POST or None, initial=stands)

    def act() -> None:
        told = dict(form.cleaned_data)
        reason = told.pop("reason")
        equipment_hours_correct(hours=row, posted_on=today(actor), stamp=stamped(actor, reason), **told)

    return _entered(request, actor, form, act, f"Correct: {row}")


@form_page
@page
def trip_corrected(request: HttpRequest, actor: User, trip_id: UUID) -> HttpResponse:
    _may(actor)
    row = trip_get(actor, trip_id)
    form = TripCorrectForm(request.POST or None, initial={"miles": f"{row.miles_tenths / 10:.1f}"})

    def act() -> None:
        told = form.cleaned_data
        stamp = stamped(actor, told["reason"])
        trip_correct(trip=row, miles_tenths=int(told["miles"] * 10), posted_on=today(actor), stamp=stamp)

    return _entered(request, actor, form, act, f"Correct: {row}")


def _entered(request: HttpRequest, actor: User, form: Any, act: Any, title: str) -> HttpResponse:
    refusal = None
    if request.method == "POST" and form.is_valid():
        try:
            act()
        except Refusal as refused:
            refusal = refused
        else:
            instead = "Where it names an order, it stands instead of what the order had worked out by itself."
            messages.success(request, f"It is entered. {instead}")
            return redirect("equipment-hours")
    told = {"form": form, "refusal": refusal, "title": title, "sees_money": actor.has_role(*MONEY)}
    return render(request, "desk/equipment_enter.html", told, status=status_of(refusal, form))
