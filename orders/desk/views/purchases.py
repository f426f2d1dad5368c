"""Purchase orders, vendors and bills."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.purchase_selectors import bill_get, bills, purchase_get, purchase_orders, vendor_get, vendors
from orders.costs.services.bills import LineBilled, bill_add, bill_approve, bill_pay, bill_void
from orders.costs.services.purchases import (
    LineAsked,
    purchase_approve,
    purchase_close,
    purchase_draft,
    purchase_void,
)
from orders.costs.services.vendors import vendor_add
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.listed import Sorted, file_asked, rows_sorted
from orders.desk.money_list_rows import BILLS, PURCHASES
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.paper_purchase import purchase_paper
from orders.desk.purchase_forms import (
    CENTS,
    BillForm,
    BillLines,
    PaidForm,
    PurchaseForm,
    PurchaseLines,
    PurchaseNamedForm,
    ReasonForm,
    StateForm,
    VendorForm,
    lines_of_purchase,
    lines_read,
)
from orders.desk.views.order_print import pdf_reply
from orders.desk.views.pages import page, tried

PURCHASE_STATES = [("draft", "Draft"), ("approved", "Approved"), ("closed", "Closed"), ("void", "Void")]
BILL_STATES = [("draft", "Draft"), ("approved", "Approved"), ("paid", "Paid"), ("void", "Void")]
PURCHASE_COLUMNS = {
    "number": Sortable("Number", "number"),
    "vendor": Sortable("Vendor", "vendor__name"),
    "ordered": Sortable("Ordered", "ordered_on"),
    "wanted": Sortable("Wanted by", "wanted_by"),
    "state": Sortable("State", "state"),
    "total": Sortable("Total", "total_cents", is_number=True),
}
BILL_COLUMNS = {
    "number": Sortable("Number", "number"),
    "vendor": Sortable("Vendor", "vendor__name"),
    "billed": Sortable("Billed", "billed_on"),
    "due": Sortable("Due", "due_on"),
    "state": Sortable("State", "state"),
    "total": Sortable("Total", "total_cents", is_number=True),
}
ROWS_A_PAGE = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _may(actor: User) -> None:
    page_opens_to(actor, MONEY, "The pages of purchases and bills")


def stamped(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


def today(actor: User) -> date:
    return stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)


def status_of(refusal: Refusal | None, *bound: Any) -> int:
    if refusal is not None:
        return refusal.status
    return 400 if any(form.is_bound and not form.is_valid() for form in bound) else 200


def _told(said: dict[str, Any], listed: Sorted) -> dict[str, Any]:
    rows = listed.page(said["page"] or 1, ROWS_A_PAGE)
    return {"rows": rows, "sort": listed.sort, "headings": listed.headings, "state": said["state"]}


@require_safe
@page
def purchases_page(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form = StateForm(request.GET, states=PURCHASE_STATES)
    said = asked(form)
    found = purchase_orders(actor)
    if said["state"]:
        found = found.filter(state=said["state"])
    listed = rows_sorted(request, found, PURCHASE_COLUMNS, "-number")
    if file_asked(request):
        return PURCHASES.reply(listed.found)
    told = {**_told(said, listed), "states": PURCHASE_STATES, "vendors": vendors(actor)}
    return render(request, "desk/purchases.html", told)


@form_page
@page
def vendor_new(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form, refusal = VendorForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        refusal = tried(lambda: vendor_add(stamp=stamped(actor), **form.cleaned_data))
        if refusal is None:
            messages.success(request, f"{form.cleaned_data['name']} is a vendor now.")
            return redirect("purchases")
    told = {"form": form, "refusal": refusal}
    return render(request, "desk/vendor_new.html", told, status=status_of(refusal, form))


@dataclass(frozen=True)
class Document:
    """A purchase order or a bill, as its form makes it."""

    head: type[forms.Form]
    lines: Any
    make: Callable[[User, dict[str, Any], list[dict[str, Any]]], Any]
    template: str
    name: str


def _purchase_make(actor: User, head: dict[str, Any], lines: list[dict[str, Any]]) -> Any:
    vendor = vendor_get(actor, UUID(head.pop("vendor")))
    return purchase_draft(vendor=vendor, lines=[LineAsked(**line) for line in lines], stamp=stamped(actor), **head)


def _bill_make(actor: User, head: dict[str, Any], lines: list[dict[str, Any]]) -> Any:
    vendor = vendor_get(actor, UUID(head.pop("vendor")))
    total, named = int(head.pop("total") * CENTS), head.pop("purchase")
    return bill_add(
        vendor=vendor,
        purchase_order=purchase_get(actor, named) if named else None,
        total_cents=total,
        lines=[LineBilled(**line) for line in lines],
        stamp=stamped(actor),
        **head,
    )


PURCHASE = Document(PurchaseForm, PurchaseLines, _purchase_make, "desk/purchase_new.html", "purchase")
BILL = Document(BillForm, BillLines, _bill_make, "desk/bill_new.html", "bill")


@form_page
@page
def purchase_new(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    return _new(request, actor, PURCHASE, {"ordered_on": today(actor)}, [])


@form_page
@page
def bill_new(request: HttpRequest, actor: User) -> HttpResponse:
    """`purchase` in the address: for a purchase order, its lines filled in with what is still committed of them."""
    _may(actor)
    usual: dict[str, Any] = {"billed_on": today(actor)}
    filled: list[dict[str, Any]] = []
    named = asked(PurchaseNamedForm(request.GET))["purchase"]
    if named:
        purchase = purchase_get(actor, named)
        usual |= {"vendor": str(purchase.vendor.public_id), "purchase": purchase.public_id}
        filled = lines_of_purchase(purchase)
    return _new(request, actor, BILL, usual, filled)


def _new(
    request: HttpRequest, actor: User, document: Document, usual: dict[str, Any], filled: list[dict[str, Any]]
) -> HttpResponse:
    data = request.POST or None
    head: Any = document.head(data, initial=usual, actor=actor)  # type: ignore[call-arg]  # both take who asks
    lines = document.lines(data, prefix="lines", initial=filled)
    refusal = None
    if request.method == "POST" and head.is_valid() and lines.is_valid():
        try:
            rows = lines_read(lines, actor, today(actor))
            made = document.make(actor, dict(head.cleaned_data), rows)
        except Refusal as refused:
            refusal = refused
        else:
            messages.success(request, f"{made} is a draft.")
            return redirect(document.name, made.public_id)
    told = {"form": head, "lines": lines, "refusal": refusal}
    return render(request, document.template, told, status=status_of(refusal, head, lines))


@require_safe
@page
def purchase_page(request: HttpRequest, actor: User, purchase_id: UUID) -> HttpResponse:
    _may(actor)
    row = purchase_get(actor, purchase_id)
    lines = list(row.lines.all())
    told = {
        "purchase": row,
        "lines": lines,
        "committed": sum(line.committed_cents for line in lines),  # type: ignore[attr-defined]  # annotated
        "bills": bills(actor).filter(purchase_order=row),
        "reason": ReasonForm(),
    }
    return render(request, "desk/purchase.html", told)


@require_safe
@page
def purchase_file(request: HttpRequest, actor: User, purchase_id: UUID) -> HttpResponse:
    _may(actor)
    row = purchase_get(actor, purchase_id)
    return pdf_reply(purchase_paper(row), f"purchase-order-{row.number}")


@require_POST
@page
def purchase_approved(request: HttpRequest, actor: User, purchase_id: UUID) -> HttpResponse:
    _may(actor)
    row = purchase_get(actor, purchase_id)
    purchase_approve(purchase=row, posted_on=today(actor), stamp=stamped(actor))
    messages.success(request, f"{row} is approved; its lines are committed.")
    return redirect("purchase", purchase_id)


@require_POST
@page
def purchase_closed(request: HttpRequest, actor: User, purchase_id: UUID) -> HttpResponse:
    _may(actor)
    row = purchase_get(actor, purchase_id)
    purchase_close(purchase=row, posted_on=today(actor), stamp=stamped(actor))
    messages.success(request, f"{row} is closed; nothing of it is committed any more.")
    return redirect("purchase", purchase_id)


@require_POST
@page
def purchase_voided(request: HttpRequest, actor: User, purchase_id: UUID) -> HttpResponse:
    _may(actor)
    row, reason = purchase_get(actor, purchase_id), asked(ReasonForm(request.POST))["reason"]
    purchase_void(purchase=row, posted_on=today(actor), stamp=stamped(actor, reason))
    messages.success(request, f"{row} is void.")
    return redirect("purchase", purchase_id)


@require_safe
@page
def bills_page(request: HttpRequest, actor: User) -> HttpResponse:
    _may(actor)
    form = StateForm(request.GET, states=BILL_STATES)
    said = asked(form)
    found = bills(actor)
    if said["state"]:
        found = found.filter(state=said["state"])
    listed = rows_sorted(request, found, BILL_COLUMNS, "-billed")
    if file_asked(request):
        return BILLS.reply(listed.found)
    told = {**_told(said, listed), "states": BILL_STATES, "has_vendor": vendors(actor).exists()}
    return render(request, "desk/bills.html", told)


@require_safe
@page
def bill_page(request: HttpRequest, actor: User, bill_id: UUID) -> HttpResponse:
    _may(actor)
    row = bill_get(actor, bill_id)
    told = {"bill": row, "reason": ReasonForm(), "paid": PaidForm(initial={"paid_on": today(actor)})}
    return render(request, "desk/bill.html", told)


@require_POST
@page
def bill_approved(request: HttpRequest, actor: User, bill_id: UUID) -> HttpResponse:
    _may(actor)
    row = bill_get(actor, bill_id)
    bill_approve(bill=row, posted_on=today(actor), stamp=stamped(actor))
    messages.success(request, f"{row} is approved and posted.")
    return redirect("bill", bill_id)


@require_POST
@page
def bill_was_paid(request: HttpRequest, actor: User, bill_id: UUID) -> HttpResponse:
    _may(actor)
    row, paid_on = bill_get(actor, bill_id), asked(PaidForm(request.POST))["paid_on"]
    bill_pay(bill=row, paid_on=paid_on, posted_on=today(actor), stamp=stamped(actor))
    messages.success(request, f"{row} is paid.")
    return redirect("bill", bill_id)


@require_POST
@page
def bill_voided(request: HttpRequest, actor: User, bill_id: UUID) -> HttpResponse:
    _may(actor)
    row, reason = bill_get(actor, bill_id), asked(ReasonForm(request.POST))["reason"]
    bill_void(bill=row, posted_on=today(actor), stamp=stamped(actor, reason))
    messages.success(request, f"{row} is void; what it had posted is taken back.")
    return redirect("bill", bill_id)
