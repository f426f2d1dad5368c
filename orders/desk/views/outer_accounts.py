"""Our accounts in somebody else's chart of accounts, and the journals that hand the ledger over."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.journal_file import journal_lines
from orders.costs.month_selectors import (
    account_mapping_get,
    account_mappings,
    journal_batch_get,
    journal_batches,
    rows_for_journal,
)
from orders.costs.selectors import award_get, awards, fund_get, funds
from orders.costs.services.journal import (
    MappingKey,
    account_mapping_add,
    account_mapping_edit,
    account_mapping_remove,
    journal_export,
)
from orders.costs.services.mapping_file import account_mappings_import, mappings_csv
from orders.desk.columns import Sortable
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import JOURNALS
from orders.desk.month_forms import CodeForm, MappingFileForm, MappingForm, refusal_place
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.views.pages import page, tried

WHAT = "The page of outer accounts"
ROWS_A_PAGE = 100
COLUMNS = {
    "account": Sortable("Account", "account"),
    "fund": Sortable("Fund", "fund__code"),
    "award": Sortable("Award", "award__code"),
    "category": Sortable("Category", "category"),
    "code": Sortable("Outer code", "outer_code"),
    "name": Sortable("Outer name", "outer_name"),
}
JOURNAL_COLUMNS = {
    "number": Sortable("Number", "number"),
    "made": Sortable("Made", "made_at"),
    "rows": Sortable("Rows", "rows_count", is_number=True),
    "debits": Sortable("Debits", "total_cents", is_number=True),
    "file": Sortable("File"),
}
CSV = "text/csv; charset=utf-8; header=present"


def _stamp(actor: User) -> Stamp:
    return Stamp(by=actor, at=now())


@require_safe
@page
def mapping_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    return _listed(request, actor)


def _listed(request: HttpRequest, actor: User, status: int = 200, **more: Any) -> HttpResponse:
    """The page, with the form that was refused where one was."""
    listed = rows_sorted(request, account_mappings(actor), COLUMNS, "")
    journals = rows_sorted(request, journal_batches(actor), JOURNAL_COLUMNS, "-number", "journal_")
    if file_asked(request, "journals"):
        return JOURNALS.reply(journals.found)
    told = {
        "rows": listed.page(request.GET.get("page", "1"), ROWS_A_PAGE),
        "headings": listed.headings,
        "journals": journals.page(request.GET.get("journal_page", "1"), ROWS_A_PAGE),
        "journal_headings": journals.headings,
        "waiting": rows_for_journal(actor),
        "form": _form(None),
        "file_form": MappingFileForm(),
        **more,
    }
    return render(request, "desk/mappings.html", told, status=status)


def _form(data: Any) -> MappingForm:
    return MappingForm(data, funds=list(funds()), awards=list(awards()))


@require_POST
@page
def mapping_added(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = _form(request.POST)
    if not form.is_valid():
        return _listed(request, actor, 400, form=form)
    refusal = tried(lambda: _add(form.cleaned_data, actor))
    if refusal is not None:
        return _listed(request, actor, refusal.status, refusal=refusal_place(form, refusal), form=form)
    messages.success(request, "The account has its outer code.")
    return redirect("mappings")


def _add(said: dict[str, Any], actor: User) -> object:
    fund = fund_get(UUID(said["fund"])) if said["fund"] else None
    award = award_get(UUID(said["award"])) if said["award"] else None
    key = MappingKey(said["account"], fund, award, said["category"])
    return account_mapping_add(
        key=key, outer_code=said["outer_code"], outer_name=said["outer_name"], stamp=_stamp(actor)
    )


@require_http_methods(["GET", "HEAD", "POST"])
@page
def mapping_page(request: HttpRequest, actor: User, mapping_id: UUID) -> HttpResponse:
    """Give one another code, or take it away."""
    page_opens_to(actor, MONEY, WHAT)
    mapping = account_mapping_get(actor, mapping_id)
    known = {name: getattr(mapping, name) for name in ("outer_code", "outer_name", "version")}
    form, refusal = CodeForm(request.POST or None, initial=known), None
    if request.method == "POST" and form.is_valid():
        said, is_removing = form.cleaned_data, "remove" in request.POST
        refusal = tried(lambda: _change(mapping, said, is_removing, actor))
        if refusal is None:
            messages.success(request, "The mapping is gone." if is_removing else "The code is changed.")
            return redirect("mappings")
    status = refusal.status if refusal else 400 if form.errors else 200
    told = {"mapping": mapping, "form": form, "refusal": refusal}
    return render(request, "desk/mapping.html", told, status=status)


def _change(mapping: Any, said: dict[str, Any], is_removing: bool, actor: User) -> None:
    expected, stamp = said["version"], _stamp(actor)
    if is_removing:
        account_mapping_remove(mapping=mapping, expected=expected, stamp=stamp)
    else:
        codes = {"outer_code": said["outer_code"], "outer_name": said["outer_name"]}
        account_mapping_edit(mapping=mapping, expected=expected, stamp=stamp, **codes)


@require_safe
@page
def mapping_file(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    named = {"Content-Disposition": 'attachment; filename="outer-accounts.csv"'}
    listed = rows_sorted(request, account_mappings(actor), COLUMNS, "")
    return HttpResponse(mappings_csv(listed.found), content_type=CSV, headers=named)


@require_POST
@page
def mapping_file_taken(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = MappingFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _listed(request, actor, 400, file_form=form)
    refusal = tried(lambda: account_mappings_import(text=form.cleaned_data["file"], stamp=_stamp(actor)))
    if refusal is not None:
        return _listed(request, actor, refusal.status, file_refusal=refusal)
    messages.success(request, "The file is taken.")
    return redirect("mappings")


@require_POST
@page
def journal_made(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, "Making a journal")
    refusal = tried(lambda: journal_export(_stamp(actor)))
    if refusal is not None:
        return _listed(request, actor, refusal.status, journal_refusal=refusal)
    messages.success(request, "The journal is made. Its file can be had below, at any time.")
    return redirect("mappings")


@require_safe
@page
def journal_file(request: HttpRequest, actor: User, batch_id: UUID) -> StreamingHttpResponse | HttpResponse:
    page_opens_to(actor, MONEY, "A journal")
    batch = journal_batch_get(actor, batch_id)
    named = {"Content-Disposition": f'attachment; filename="journal-{batch.number}.csv"'}
    return StreamingHttpResponse(journal_lines(batch), content_type=CSV, headers=named)
