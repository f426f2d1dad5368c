"""The pages of packets: one order's, and a crew's week."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.common.models.user import CREW_LEAD
from orders.common.stamp import Stamp
from orders.crews.models import Crew
from orders.crews.selectors import memberships_of
from orders.desk.forms import asked
from orders.desk.navigation import GROUND, page_opens_to
from orders.desk.packets.paper_bundle import draws, week_of
from orders.desk.packets.paper_packet import packet_paper
from orders.desk.packets.printing import MOST_ORDERS, bundle_pdf, packet_pdf
from orders.desk.papers import LANGUAGES
from orders.desk.views.pages import page
from orders.workorders.models import WorkOrder
from orders.workorders.printing import edition_state, editions_newest
from orders.workorders.selectors import order_get, orders_of

WHAT = "The pages of packets"
PRINTED_STATES = ("issued", "underway", "closed")


class BundleForm(forms.Form):
    """A crew and any day of the week; what is marked in the list of orders instead of a week."""

    week = forms.DateField(required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))

    def __init__(self, *args: Any, crews: list[Crew], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.crews = crews
        listed = [(str(crew.public_id), crew.name) for crew in crews]
        self.fields["crew"] = forms.ChoiceField(choices=listed, required=False, label="Crew")

    def crew(self) -> Crew | None:
        wanted = asked(self)["crew"]
        found = [crew for crew in self.crews if str(crew.public_id) == wanted]
        return found[0] if found else next(iter(self.crews), None)


def stamp_of(actor: User, why: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=why)


def _today(actor: User) -> date:
    return stamp_of(actor).local_date(settings.PROGRAM_TIME_ZONE)


def order_of(actor: User, order_id: UUID) -> WorkOrder:
    page_opens_to(actor, GROUND, WHAT)
    return order_get(actor, order_id, on=_today(actor))


@require_safe
@page
def packet_page(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    order = order_of(actor, order_id)
    told = {
        "order": order,
        "paper": packet_paper(order, request.GET.get("lang"), stamp_of(actor)),
        "languages": LANGUAGES,
        "edition": edition_state(order),
        "may_print": order.state in PRINTED_STATES,
    }
    return render(request, "desk/packets/packet.html", told)


@require_safe
@page
def packet_file(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    """To look at: no edition is made."""
    order = order_of(actor, order_id)
    return pdf(packet_pdf(order, request.GET.get("lang"), stamp=stamp_of(actor)), f"packet-{order.number}")


@require_POST
@page
def packet_printed(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    order = order_of(actor, order_id)
    made = packet_pdf(order, request.POST.get("lang"), stamp=stamp_of(actor), as_edition=True)
    return pdf(made, f"packet-{order.number}")


def pdf(content: bytes, name: str) -> HttpResponse:
    reply = HttpResponse(content, content_type="application/pdf")
    reply["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return reply


@dataclass(frozen=True)
class Bundle:
    """Orders that are printed together: a crew's of a week, or those that were marked in the list of orders."""

    orders: list[WorkOrder]
    days: tuple[date, date]
    crew: Crew | None
    is_marked: bool = False


def _bundle(actor: User, told: QueryDict, form: BundleForm) -> Bundle:
    if marked := told.getlist("order"):
        orders = _marked(actor, marked)
        first = min((order.first_day for order in orders), default=_today(actor))
        last = max((order.last_day for order in orders), default=first)
        return Bundle(orders, (first, last), None, is_marked=True)
    crew, days = form.crew(), week_of(asked(form)["week"] or _today(actor))
    return Bundle(bundle_orders(actor, crew, days), days, crew)


def _marked(actor: User, marked: list[str]) -> list[WorkOrder]:
    try:
        ids = [UUID(text) for text in marked]
    except ValueError as error:
        raise Invalid("A marked order cannot be read.", [FieldError("order", "is no id")]) from error
    rows = orders_of(actor, on=_today(actor)).filter(public_id__in=ids, state__in=PRINTED_STATES)
    return list(rows.order_by("first_day", "number"))


@require_safe
@page
def bundle_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    form = BundleForm(request.GET, crews=crews_seen(actor))
    bundle = _bundle(actor, request.GET, form)
    printed = editions_newest(bundle.orders)
    told = {
        "form": form,
        "bundle": bundle,
        "earlier": bundle.days[0] - timedelta(days=7),
        "later": bundle.days[0] + timedelta(days=7),
        "listed": [(order, printed.get(order.pk)) for order in bundle.orders],
        "draws": draws(bundle.orders, *bundle.days) if bundle.orders else [],
        "most": MOST_ORDERS,
        "languages": LANGUAGES,
    }
    return render(request, "desk/packets/bundle.html", told)


@require_POST
@page
def bundle_marked(request: HttpRequest, actor: User) -> HttpResponse:
    """From the list of orders to the bundle of those marked there; the form's token stays out of the address."""
    page_opens_to(actor, GROUND, WHAT)
    marked = urlencode({"order": request.POST.getlist("order")}, doseq=True)
    return redirect(f"{reverse('packet-bundle')}?{marked}" if marked else reverse("packet-bundle"))


@require_POST
@page
def bundle_printed(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    bundle = _bundle(actor, request.POST, BundleForm(request.POST, crews=crews_seen(actor)))
    made = bundle_pdf(
        bundle.orders,
        bundle.days,
        request.POST.get("lang"),
        crew=bundle.crew,
        stamp=stamp_of(actor),
        as_edition=request.POST.get("as") == "edition",
    )
    return pdf(made, f"bundle-{bundle.days[0]}")


def crews_seen(actor: User) -> list[Crew]:
    """A crew lead's own; the office sees all that are active."""
    office = actor.role_codes - {CREW_LEAD}
    if office & GROUND:
        return list(Crew.objects.filter(is_active=True).order_by("name"))
    return sorted({member.crew for member in memberships_of(actor, _today(actor))}, key=lambda crew: crew.name)


def bundle_orders(actor: User, crew: Crew | None, days: tuple[date, date]) -> list[WorkOrder]:
    """Issued orders of the crew with a visit in those days, in the order of their first day."""
    if crew is None:
        return []
    rows = orders_of(actor, on=_today(actor)).filter(crew=crew, state__in=PRINTED_STATES)
    rows = rows.filter(order_visits__visit__day__range=days).exclude(order_visits__visit__state="dropped")
    return list(rows.distinct().order_by("first_day", "number"))
