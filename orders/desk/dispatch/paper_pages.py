"""Closing an order from paper on behalf of its crew, and stating a close-out anew."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from estimating.labels import THE_LAW
from orders import corrections, flow
from orders.common.clock import now
from orders.common.errors import Refusal, WrongState
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.dispatch.paper_close import PaperClose
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.views.pages import page, tried
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import close_out_standing, order_get

form_page = require_http_methods(["GET", "HEAD", "POST"])
OPEN = ("issued", "underway")


def _order(actor: User, order_id: UUID, stamp: Stamp) -> WorkOrder:
    page_opens_to(actor, DESK, "Stating a close-out for a crew")
    return order_get(actor, order_id, on=stamp.local_date(settings.PROGRAM_TIME_ZONE))


def _sent(request: HttpRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


@form_page
@page
def close_page(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    stamp = Stamp(by=actor, at=now())
    order = _order(actor, order_id, stamp)
    if order.state not in OPEN:
        raise WrongState(f"{order} is {order.state}; an order is closed once it was issued.")
    paper, refusal = PaperClose(order, None, _sent(request)), None
    if request.method == "POST" and not paper.wants_more and paper.is_valid():
        statement = paper.statement()
        refusal = tried(lambda: flow.close_order(order=order, statement=statement, stamp=stamp))
        if refusal is None:
            messages.success(request, f"{order} is closed. Its cost is posted, and what is left is asked for again.")
            return redirect("order", order_id)
    return _shown(request, actor, order_id, paper, refusal, stamp)


@form_page
@page
def amend_page(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    stamp = Stamp(by=actor, at=now())
    order = _order(actor, order_id, stamp)
    standing = close_out_standing(order)
    if standing is None:
        raise WrongState(f"{order} has no close-out that could be stated anew.")
    paper, refusal = PaperClose(order, standing, _sent(request)), None
    if request.method == "POST" and not paper.wants_more and paper.is_valid():
        statement, told = paper.statement(), stamp.because(paper.head.cleaned_data["reason"])
        refusal = tried(lambda: corrections.amend_close_out(order=order, statement=statement, stamp=told))
        if refusal is None:
            messages.success(request, f"The close-out of {order} is stated anew; the one before stays on record.")
            return redirect("order", order_id)
    return _shown(request, actor, order_id, paper, refusal, stamp)


def _shown(
    request: HttpRequest, actor: User, order_id: UUID, paper: PaperClose, refusal: Refusal | None, stamp: Stamp
) -> HttpResponse:
    order = _order(actor, order_id, stamp)
    told: dict[str, Any] = {
        "order": order,
        "paper": paper,
        "amends": paper.standing is not None,
        "refusal": paper.told(refusal) if refusal else None,
        "the_law": THE_LAW,
        "uses_herbicide": any(row.method.uses_herbicide for row in paper.asked),
    }
    status = refusal.status if refusal else 400 if paper.is_wrong else 200
    return render(request, "desk/dispatch/paper_close.html", told, status=status)
