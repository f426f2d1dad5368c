"""Products and what their labels say: for everybody who mixes, applies, orders or answers for it."""

from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from estimating.labels import THE_LAW
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.desk.label_words import PLACES, gaps, limits, strengths, uses
from orders.desk.list_rows import PRODUCTS
from orders.desk.listed import file_asked, lines_sorted
from orders.desk.navigation import DESK, EVERY_ROLE, SAFETY, page_opens_to
from orders.desk.setup.kit import in_use_cut
from orders.desk.views.pages import page
from orders.estimates.selectors import methods
from orders.supplies.models import Product
from orders.supplies.selectors import documents_standing, product_get, products

WHAT = "The pages of products"
ROWS_A_PAGE = 50
COLUMNS = {
    "name": Sortable("Product", "product__name"),
    "signal": Sortable("Signal word", "product__signal_word"),
    "holds": Sortable("Holds"),
    "uses": Sortable("Allowed uses"),
    "where": Sortable("Where"),
    "label": Sortable("Label data", "product__reviewed_on"),
}
IN_USE = in_use_cut()
OTHER_COLUMNS = {"name": Sortable("Product", "product__name"), "cautions": Sortable("Cautions")}


class ListForm(forms.Form):
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Name or registration")
    shown = forms.ChoiceField(required=False, choices=IN_USE.choices, label=IN_USE.label)

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data.values())

    def rows(self) -> list[Product]:
        return [row for row in IN_USE.rows(products(), self.cleaned_data["shown"]) if self._holds(row)]

    def _holds(self, product: Product) -> bool:
        known = f"{product.name} {product.registration_number}".casefold()
        return all(word in known for word in self.cleaned_data["q"].casefold().split())


def _today() -> date:
    return Stamp(by=None, at=now()).local_date(settings.PROGRAM_TIME_ZONE)


def _method_names() -> dict[str, str]:
    return dict(methods().values_list("code", "name"))


@require_safe
@page
def product_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    today, names = _today(), _method_names()
    form = ListForm(request.GET)
    asked(form)
    lines = [_line(product, names, today) for product in form.rows()]
    herbicides = lines_sorted(request, [line for line in lines if line["product"].is_herbicide], COLUMNS, "")
    rest = [line for line in lines if not line["product"].is_herbicide]
    others = lines_sorted(request, rest, OTHER_COLUMNS, "", "others_")
    if file_asked(request):
        return PRODUCTS.reply([*herbicides.found, *others.found])
    told = {
        "the_law": THE_LAW,
        "form": form,
        "sort": herbicides.sort,
        "herbicides": herbicides.page(request.GET.get("page", "1"), ROWS_A_PAGE),
        "headings": herbicides.headings,
        "others": others.page(request.GET.get("others_page", "1"), ROWS_A_PAGE),
        "others_headings": others.headings,
        "may_edit": actor.has_role(*SAFETY),
        "has_any": bool(lines) or Product.objects.exists(),
    }
    return render(request, "desk/products.html", told)


def _line(product: Product, names: dict[str, str], today: date) -> dict[str, Any]:
    return {
        "product": product,
        "strengths": strengths(product),
        "uses": [line.method for line in uses(product, names)],
        "gaps": gaps(product, today),
    }


def _price_address(product: Product) -> str:
    query = urlencode({"of": f"product:{product.code}"})
    return f"{reverse('setup-price-new')}?{query}"


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
        "missing": [(gap, PLACES.get(gap.code, "")) for gap in gaps(product, _today())],
        "documents": documents_standing().filter(product=product),
        "may_edit": actor.has_role(*SAFETY),
        "price_address": _price_address(product) if actor.has_role(*DESK) else "",
    }
    return render(request, "desk/product.html", told)
