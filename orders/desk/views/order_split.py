"""Who pays one order: said before it is issued, split anew by finance afterwards."""

from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from orders.common.models import User
from orders.costs.selectors import order_funding
from orders.costs.services.posting import order_fund, order_shares_by_rule
from orders.costs.services.splitting import order_split_again
from orders.desk.fund_forms import OrderSplitForm, shares_stand
from orders.desk.views.funds import FormPage, form_done, form_page, may, stamped
from orders.desk.views.pages import page
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_get


@form_page
@page
def order_split_page(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    may(actor)
    today = stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)
    order = order_get(actor, order_id, on=today)
    is_draft = order.state == "draft"
    stands = shares_stand(order_funding(order) or (order_shares_by_rule(order) if is_draft else []))
    form = OrderSplitForm(request.POST or None, needs_reason=not is_draft, initial={**stands, "version": order.version})

    def write() -> str:
        told = form.cleaned_data
        if is_draft:
            order_fund(order=order, shares=form.shares(), expected=told["version"], stamp=stamped(actor))
            return f"{order} is split. Its planned cost is committed by that when it is issued."
        stamp = stamped(actor, told["reason"])
        order_split_again(order=order, shares=form.shares(), posted_on=today, expected=told["version"], stamp=stamp)
        return f"{order} is split anew. What was posted and committed stands with its new payers."

    return form_done(request, _words(order, is_draft), form, write)


def _words(order: WorkOrder, is_draft: bool) -> FormPage:
    about = (
        "The shares add up to 100%."
        if is_draft
        else "The shares add up to 100%. What was posted is taken back and posted anew in the open month; closed "
        "months stay as they are. What an award may not take waits for you among the held charges."
    )
    title = f"Who pays {order}"
    return FormPage(title, "Save the split", reverse("order", args=[order.public_id]), str(order), about=about)
