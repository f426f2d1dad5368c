"""Tablets: which there are, who is on them, what waits on them; codes that make one known; files of unsent work."""

from datetime import date
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.commands.export import export_import
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.field_forms import CodeForm, ExportForm, ReasonForm
from orders.desk.field_lines import imported_words
from orders.desk.forms import asked
from orders.desk.list_rows import TABLETS
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.picture_code import picture_code
from orders.desk.views.pages import page, tried
from orders.field.selectors.commands import commands
from orders.field.selectors.devices import device_get, devices, user_by_id
from orders.field.services.devices import device_revoke, device_user_remove, enrollment_code_make

ROWS_A_PAGE = 25
WHAT = "The pages of tablets"
COLUMNS = {
    "name": Sortable("Tablet", "name"),
    "people": Sortable("People"),
    "contact": Sortable("Last contact", "last_contact_at"),
    "waiting": Sortable("Waiting there", "waiting_told", is_number=True),
    "clock": Sortable("Its clock"),
    "until": Sortable("Works until", "expires_on"),
}
GROUP = 4  # letters of a code that are read out at once


@require_safe
@page
def tablet_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    if file_asked(request):
        return TABLETS.reply(rows_sorted(request, devices(), COLUMNS, "name").found)
    return _listed(request, actor)


def _listed(
    request: HttpRequest, actor: User, *, refusal: Refusal | None = None, form: ExportForm | None = None
) -> HttpResponse:
    listed = rows_sorted(request, devices(), COLUMNS, "name")
    told = {
        "rows": listed.page(request.GET.get("page", "1"), ROWS_A_PAGE),
        "headings": listed.headings,
        "today": _today(actor),
        "code_form": CodeForm(),
        "export_form": form or ExportForm(),
        "refusal": refusal,
    }
    status = refusal.status if refusal else 400 if form is not None and form.errors else 200
    return render(request, "desk/tablets.html", told, status=status)


@require_POST
@page
def code_made(request: HttpRequest, actor: User) -> HttpResponse:
    """Shows the code at once and never again."""
    page_opens_to(actor, DESK, WHAT)
    user = asked(CodeForm(request.POST))["user"]
    code, text = enrollment_code_make(user=user, stamp=Stamp(by=actor, at=now()))
    address = request.build_absolute_uri(f"/tablet/#/enroll/{text}")
    told = {
        "code": code,
        "letters": " ".join(text[at : at + GROUP] for at in range(0, len(text), GROUP)),
        "address": address,
        "picture": picture_code(address, "Picture code of the address below"),
    }
    return render(request, "desk/tablet_code.html", told)


@require_safe
@page
def tablet_page(request: HttpRequest, actor: User, device_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    device = device_get(device_id)
    rows = Paginator(commands().filter(device=device), ROWS_A_PAGE).get_page(request.GET.get("page", "1"))
    told = {"device": device, "rows": rows, "form": ReasonForm(), "today": _today(actor)}
    return render(request, "desk/tablet.html", told)


@require_POST
@page
def tablet_revoked(request: HttpRequest, actor: User, device_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    device, reason = device_get(device_id), asked(ReasonForm(request.POST))["reason"]
    device_revoke(device=device, stamp=Stamp(by=actor, at=now(), reason=reason))
    messages.success(request, f"{device} is revoked from its next contact on. What it has not sent can come as a file.")
    return redirect("tablet", device_id)


@require_POST
@page
def tablet_user_removed(request: HttpRequest, actor: User, device_id: UUID, user_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    device, user = device_get(device_id), user_by_id(user_id)
    device_user_remove(device=device, user=user, stamp=Stamp(by=actor, at=now()))
    messages.success(request, f"{user} is taken off {device}.")
    return redirect("tablet", device_id)


@require_POST
@page
def unsent_read(request: HttpRequest, actor: User) -> HttpResponse:
    """A file that a tablet saved: what it had not sent, from a tablet that is revoked as well."""
    page_opens_to(actor, DESK, WHAT)
    form = ExportForm(request.POST, request.FILES, most_bytes=settings.TABLET_EXPORT_MAX_BYTES)
    if not form.is_valid():
        return _listed(request, actor, form=form)
    data = form.cleaned_data["file"].read()
    refusal = tried(lambda: _told(request, data, actor))
    return _listed(request, actor, refusal=refusal) if refusal else redirect("tablets")


def _told(request: HttpRequest, data: bytes, actor: User) -> None:
    messages.success(request, imported_words(export_import(data=data, stamp=Stamp(by=actor, at=now()))))


def _today(actor: User) -> date:
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
