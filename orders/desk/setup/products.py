"""Products and their labels: read from the label, compared with it, and kept whole as documents."""

from collections.abc import Iterator
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from estimating.labels import THE_LAW, Finding
from orders.common.errors import Refusal
from orders.common.models import User
from orders.desk.label_words import PLACES, gaps
from orders.desk.navigation import SAFETY, page_opens_to
from orders.desk.setup.kit import EditPage, act_done, edit_done, edit_shown, form_page, stamped, use_act
from orders.desk.setup.measured import kept_history
from orders.desk.setup.prices import supply_chips
from orders.desk.setup.products_forms import DocumentForm, ProductForms, ReviewForm
from orders.desk.views.pages import page
from orders.supplies.documents import document_add
from orders.supplies.models import Product
from orders.supplies.selectors import documents_standing, product_get
from orders.supplies.services import (
    product_activate,
    product_add,
    product_deactivate,
    product_edit,
    product_review,
)

WHAT = "Changing products and their labels"
PURPOSE = (
    "A reviewed copy of the facts of one label, version by version. The label guard holds every estimate and order to "
    "it, and refuses what it does not find here. Orders that were issued keep the label that they were issued under. "
    "Facts that differ from those reviewed need a review of their own."
)
NO_MORE = (
    "It goes into no new mix, nothing more is bought of it, and no order with it is issued from now on. Its label, its "
    "stock and what was done with it stay; it can be put back."
)
CAUTION = f"Caution. {THE_LAW} Type what the label says, never what was usual."


def gap_lines(found: list[Finding]) -> Iterator[tuple[str, str]]:
    """What is missing, and where it is mostly found."""
    for gap in found:
        yield gap.message, PLACES.get(gap.code, "")


@form_page
@page
def product_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    return _course(request, actor, None)


@form_page
@page
def product_edit_page(request: HttpRequest, actor: User, product_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    return _course(request, actor, product_get(product_id))


def _course(request: HttpRequest, actor: User, product: Product | None) -> HttpResponse:
    sent = request.method == "POST"
    forms = ProductForms(product, request.POST if sent else None)
    if product is None and not sent:
        forms.form.initial["is_herbicide"] = True
    words = _words(actor, product, forms)
    if not sent or "more" in request.POST or not forms.is_valid():
        shown = edit_shown(request, words, forms.form)
        shown.status_code = 400 if sent and "more" not in request.POST else 200
        return shown

    def write() -> str:
        try:
            return _written(actor, product, forms)
        except Refusal as refusal:
            forms.place(refusal)
            raise

    return edit_done(request, words, forms.form, write)


def _written(actor: User, product: Product | None, forms: ProductForms) -> str:
    own, label = forms.form.own(), forms.label()
    if product is None:
        made = product_add(label=label, stamp=stamped(actor), **own)
        return f"{made.name} is added. What it is used in is added as a mix next."
    expected = forms.form.cleaned_data["version"] or 0
    product_edit(product=product, label=label, expected=expected, stamp=stamped(actor), **own)
    return f"{product.name} is saved. Orders that were issued keep the label that they were issued under."


def _words(actor: User, product: Product | None, forms: ProductForms) -> EditPage:
    today = stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)
    missing = [] if product is None else list(gap_lines(gaps(product, today)))
    told = {"forms": forms, "missing": missing, "product": product}
    told |= {"history": kept_history(product, forms.form)} if product is not None else {}
    gone = product is not None and not product.is_active
    back = reverse("products") if product is None else reverse("product", args=[product.public_id])
    return EditPage(
        title="A new product" if product is None else f"{product.name}: what the label says",
        button="Add the product" if product is None else "Save what the label says",
        back=back,
        back_words="Products" if product is None else product.name,
        purpose=PURPOSE,
        row=product,
        acts=(use_act(product, "setup-product", NO_MORE),) if product is not None else (),
        notices=("No longer in use: offered for nothing new.",) if gone else (),
        cautions=(CAUTION,),
        chips=supply_chips("products"),
        more=told,
        template="desk/setup/product_edit.html",
    )


@require_POST
@page
def product_used(request: HttpRequest, actor: User, product_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    product = product_get(product_id)

    def write(expected: int, reason: str) -> str:
        verb = product_activate if is_active else product_deactivate
        verb(product=product, expected=expected, stamp=stamped(actor, reason))
        return f"{product.name} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        forms = ProductForms(product, None)
        return edit_shown(request, _words(actor, product, forms), forms.form, refusal)

    return act_done(request, reverse("setup-product", args=[product.public_id]), write, shown)


@form_page
@page
def product_review_page(request: HttpRequest, actor: User, product_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    product = product_get(product_id)
    stamp = stamped(actor)
    today = stamp.local_date(settings.PROGRAM_TIME_ZONE)
    kept = {"reviewed_on": today, "reviewed_by": actor.get_full_name(), "version": product.version}
    form = ReviewForm(request.POST or None, initial=kept)

    def write() -> str:
        told = {name: form.cleaned_data[name] for name in ("reviewed_on", "reviewed_by")}
        product_review(product=product, expected=form.cleaned_data["version"] or 0, stamp=stamp, **told)
        return f"The label of {product.name} is reviewed."

    words = _product_words(
        product,
        "review its label",
        "Keep the review",
        "Somebody licensed compares what stands here with the label on the container, line by line, and answers for "
        "it. A review that is older than the program's term is asked for again.",
    )
    return edit_done(request, words, form, write)


@form_page
@page
def product_document_page(request: HttpRequest, actor: User, product_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    product = product_get(product_id)
    form = DocumentForm(request.POST, request.FILES) if request.method == "POST" else DocumentForm()

    def write() -> str:
        told, file = form.cleaned_data, form.cleaned_data["file"]
        document_add(
            product=product,
            kind=told["kind"],
            language=told["language"],
            file_name=file.name,
            data=file.read(),
            stamp=stamped(actor),
        )
        return "The document is kept. Tablets fetch it with their next contact."

    words = _product_words(
        product,
        "a document",
        "Keep it",
        "The label and the safety data sheet, whole, as crews carry them without a signal. The newest of each counts; "
        "those before it stay.",
    )
    return edit_done(request, words, form, write)


def _product_words(product: Product, what: str, button: str, purpose: str) -> EditPage:
    return EditPage(
        title=f"{product.name}: {what}",
        button=button,
        back=reverse("product", args=[product.public_id]),
        back_words=product.name,
        purpose=purpose,
        row=product if button == "Keep the review" else None,
        cautions=(CAUTION,),
        below="desk/setup/product_kept.html",
        more={"product": product, "documents": documents_standing().filter(product=product)},
    )
