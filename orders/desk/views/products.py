"""Products and what their labels say: for everybody who mixes, applies, orders or answers for it."""

from datetime import date
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.labels import THE_LAW
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.label_words import gaps, limits, strengths, uses
from orders.desk.navigation import EVERY_ROLE, page_opens_to
from orders.desk.views.pages import page
from orders.estimates.selectors import methods
from orders.supplies.models import Product
from orders.supplies.selectors import documents_standing, product_get, products

WHAT = "The pages of products"


def _today() -> date:
    return Stamp(by=None, at=now()).local_date(settings.PROGRAM_TIME_ZONE)


def _method_names() -> dict[str, str]:
    return dict(methods().values_list("code", "name"))


@require_safe
@page
def product_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    today, names = _today(), _method_names()
    listed = [_line(product, names, today) for product in products()]
    told = {
        "the_law": THE_LAW,
        "herbicides": [line for line in listed if line["product"].is_herbicide],
        "others": [line for line in listed if not line["product"].is_herbicide],
    }
    return render(request, "desk/products.html", told)


def _line(product: Product, names: dict[str, str], today: date) -> dict[str, Any]:
    return {
        "product": product,
        "strengths": strengths(product),
        "uses": [line.method for line in uses(product, names)],
        "gaps": gaps(product, today),
    }


@require_safe
@page
def product_page(request: HttpRequest, actor: User, product_id: UUID) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    product, names = product_get(product_id), _method_names()
    told = {
        "the_law": THE_LAW,
        "product": product,
        "strengths": strengths(product),
        "uses": uses(product, names),
        "limits": limits(product, names),
        "gaps": gaps(product, _today()),
        "documents": documents_standing().filter(product=product),
    }
    return render(request, "desk/product.html", told)
