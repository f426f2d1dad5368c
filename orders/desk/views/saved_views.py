"""Views of reports that people keep: saved, opened, shared, renamed, removed."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Invalid
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.export_forms import ViewForm, errors_put, query_address, query_of
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import VIEWS
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.views.pages import page
from orders.reports.selectors import own_view_get, query_told, report_check, report_name, view_get, views_of
from orders.reports.services import view_edit, view_remove, view_save, view_share

WHAT = "The page of saved views"
ROWS_A_PAGE = 25
COLUMNS = {
    "name": Sortable("Name", "name"),
    "report": Sortable("Report", "report"),
    "whose": Sortable("Whose", "owner__username"),
    "acts": Sortable("What can be done"),
}


@require_safe
@page
def views_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    listed = rows_sorted(request, views_of(actor), COLUMNS, "name")
    if file_asked(request):
        return VIEWS.reply(listed.found)
    rows = listed.page(request.GET.get("page"), ROWS_A_PAGE)
    lines = [
        (row, report_name(row.report), query_told(row.report, row.query), row.owner_id == actor.pk) for row in rows
    ]
    return render(request, "desk/views.html", {"rows": rows, "lines": lines, "headings": listed.headings})


@require_http_methods(["GET", "HEAD", "POST"])
@page
def view_save_page(request: HttpRequest, actor: User) -> HttpResponse:
    """The report and its words come in the address, from the screen that shows it."""
    said = request.POST if request.method == "POST" else request.GET
    report, query = said.get("report", ""), query_of(said)
    report_check(actor, report)
    form = ViewForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            view_save(report=report, query=query, stamp=Stamp(by=actor, at=now()), **form.cleaned_data)
        except Invalid as refusal:
            errors_put(form, refusal.errors)
        else:
            messages.success(request, "The view is kept.")
            return redirect("report-views")
    told = {"form": form, "report": report, "report_name": report_name(report), "query": query_address(query)}
    told["query_words"] = query_told(report, query)
    return render(request, "desk/view_save.html", told, status=400 if form.errors else 200)


@require_safe
@page
def view_opened(request: HttpRequest, actor: User, view_id: UUID) -> HttpResponse:
    """The report's own screen, as it was asked for."""
    view = view_get(actor, view_id)
    return redirect(f"{reverse('report', args=[view.report])}?{query_address(view.query)}")


@require_http_methods(["GET", "HEAD", "POST"])
@page
def view_edit_page(request: HttpRequest, actor: User, view_id: UUID) -> HttpResponse:
    view = own_view_get(actor, view_id)
    form = ViewForm(request.POST) if request.method == "POST" else ViewForm.of(view)
    if request.method == "POST" and form.is_valid():
        try:
            stamp = Stamp(by=actor, at=now())
            view_edit(view=view, expected=_version(request), values=form.cleaned_data, stamp=stamp)
        except Invalid as refusal:
            errors_put(form, refusal.errors)
        else:
            messages.success(request, "The view is changed.")
            return redirect("report-views")
    words = query_told(view.report, view.query)
    told = {"form": form, "view": view, "report_name": report_name(view.report), "query_words": words}
    return render(request, "desk/view_save.html", told, status=400 if form.errors else 200)


@require_POST
@page
def view_shared(request: HttpRequest, actor: User, view_id: UUID) -> HttpResponse:
    """Shared, or for oneself again."""
    view = own_view_get(actor, view_id)
    is_shared = request.POST.get("is_shared") == "yes"
    view_share(view=view, is_shared=is_shared, expected=_version(request), stamp=Stamp(by=actor, at=now()))
    messages.success(request, f"{view.name} is {'shared' if is_shared else 'yours alone'}.")
    return redirect("report-views")


@require_POST
@page
def view_removed(request: HttpRequest, actor: User, view_id: UUID) -> HttpResponse:
    view = own_view_get(actor, view_id)
    view_remove(view=view, expected=_version(request), stamp=Stamp(by=actor, at=now()))
    messages.success(request, f"{view.name} is removed.")
    return redirect("report-views")


def _version(request: HttpRequest) -> int:
    """Of the row as the page showed it; what is no number is no version that there ever was."""
    said = request.POST.get("version", "")
    return int(said) if said.isdecimal() and len(said) < 10 else 0
