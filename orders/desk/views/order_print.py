"""A work order on paper, as a page and as a PDF."""

from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import EVERY_ROLE, page_opens_to
from orders.desk.paper_order import order_paper
from orders.desk.paper_pdf import paper_pdf
from orders.desk.papers import LANGUAGES, Paper
from orders.desk.views.pages import page
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_get

WHAT = "The pages of work orders"


def _order(actor: User, order_id: UUID) -> WorkOrder:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    return order_get(actor, order_id, on=Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE))


@require_safe
@page
def order_print_page(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    order = _order(actor, order_id)
    told = {"order": order, "paper": order_paper(order, request.GET.get("lang")), "languages": LANGUAGES}
    return render(request, "desk/order_print.html", told)


@require_safe
@page
def order_print_file(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    order = _order(actor, order_id)
    return pdf_reply(order_paper(order, request.GET.get("lang")), f"work-order-{order.number}")


def pdf_reply(paper: Paper, name: str) -> HttpResponse:
    reply = HttpResponse(paper_pdf(paper), content_type="application/pdf")
    reply["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return reply
