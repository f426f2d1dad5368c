"""An act on an order: done and told, or the order's page again with what refused it beside the form."""

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from orders.common.clock import now
from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.dispatch.order_acts import ACTS, ActShown, act_done
from orders.desk.navigation import page_opens_to
from orders.desk.views.pages import page, tried
from orders.desk.views.work_orders import order_shown
from orders.workorders.selectors import order_get


@require_POST
@page
def order_act(request: HttpRequest, actor: User, order_id: UUID, code: str) -> HttpResponse:
    act = ACTS.get(code)
    if act is None:
        raise NotFound("There is no such act.")
    page_opens_to(actor, act.roles, act.heading)
    stamp = Stamp(by=actor, at=now())
    on = stamp.local_date(settings.PROGRAM_TIME_ZONE)
    order = order_get(actor, order_id, on=on)
    form, refusal = act.form(order, request.POST), None
    if form.is_valid():
        told: list[str] = []
        refusal = tried(lambda: told.append(act_done(act, order, form, stamp)))
        if refusal is None:
            messages.success(request, told[0])
            return redirect("order", order_id)
    return order_shown(request, actor, order_get(actor, order_id, on=on), ActShown(act, form, refusal))
