"""The list of work orders: many issued at once, each by itself; and the list as a file."""

from dataclasses import dataclass
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders import flow
from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.field_forms import OrderListForm
from orders.desk.list_rows import ORDERS
from orders.desk.navigation import DESK, EVERY_ROLE, page_opens_to
from orders.desk.views.pages import page, tried
from orders.desk.views.work_orders import orders_listed
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import orders_of

MOST_MARKED = 200


@dataclass(frozen=True)
class Issued:
    """One order of the marked ones, with its refusal where it was refused."""

    order: WorkOrder
    refusal: Refusal | None


@require_POST
@page
def marked_issued(request: HttpRequest, actor: User) -> HttpResponse:
    """Each as far as its own guards allow; what refused one is no hindrance to the next."""
    page_opens_to(actor, DESK, "Issuing work orders")
    stamp = Stamp(by=actor, at=now())
    found = [_issued(order, stamp) for order in _marked(request, actor, stamp)]
    issued = sum(one.refusal is None for one in found)
    back = f"{reverse('orders')}?{request.POST.get('back', '')[:400]}"
    told = {"found": found, "issued": issued, "refused": len(found) - issued, "back": back}
    return render(request, "desk/dispatch/orders_issued.html", told)


def _marked(request: HttpRequest, actor: User, stamp: Stamp) -> list[WorkOrder]:
    named = request.POST.getlist("order")
    if not named:
        raise Invalid("No order is marked.", [FieldError("order", "mark one at least")])
    if len(named) > MOST_MARKED:
        raise Invalid("Too many orders are marked.", [FieldError("order", f"at most {MOST_MARKED} at once")])
    try:
        keys = [UUID(one) for one in named]
    except ValueError as error:
        raise Invalid("A marked order cannot be read.", [FieldError("order", "is no id")]) from error
    rows = orders_of(actor, on=stamp.local_date(settings.PROGRAM_TIME_ZONE))
    return list(rows.filter(public_id__in=keys).select_related("site__jurisdiction"))


def _issued(order: WorkOrder, stamp: Stamp) -> Issued:
    return Issued(order, tried(lambda: flow.issue_order(order=order, stamp=stamp)))


@require_safe
@page
def order_list_file(request: HttpRequest, actor: User) -> HttpResponse:
    """All rows that the page of the same address shows, whatever page of them."""
    page_opens_to(actor, EVERY_ROLE, "The pages of work orders")
    return ORDERS.reply(orders_listed(request, actor, OrderListForm(request.GET)).found)
