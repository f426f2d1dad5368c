"""Files of reports: asked for, followed, fetched."""

from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.export_forms import query_of
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import EXPORTS
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.telling import run_state
from orders.desk.views.pages import page
from orders.reports.asking import month_read
from orders.reports.files import MEDIA_TYPES, file_blocks
from orders.reports.selectors import export_file, export_path, export_runs, query_told, report_name
from orders.reports.services import export_ask, handover_ask

WHAT = "The page of files"
ROWS_A_PAGE = 25
COLUMNS = {
    "report": Sortable("Report", "report"),
    "format": Sortable("Format", "file_format"),
    "asked": Sortable("Asked for", "asked_at"),
    "state": Sortable("State", "state"),
    "rows": Sortable("Rows", "rows_count", is_number=True),
    "size": Sortable("Size", "size_bytes", is_number=True),
    "file": Sortable("File"),
}


@require_safe
@page
def exports_page(request: HttpRequest, actor: User) -> HttpResponse:
    return _exports_shown(request, actor)


def _exports_shown(request: HttpRequest, actor: User, month: str = "", trouble: str = "") -> HttpResponse:
    """`trouble` says why the month that was typed cannot be handed over."""
    page_opens_to(actor, MONEY, WHAT)
    listed = rows_sorted(request, export_runs(actor), COLUMNS, "-asked")
    if file_asked(request):
        return EXPORTS.reply(listed.found)
    runs = listed.page(request.GET.get("page"), ROWS_A_PAGE)
    lines = [
        {
            "run": run,
            "name": report_name(run.report),
            "query": query_told(run.report, run.query),
            "told": run_state(run),
            "has_file": export_path(run) is not None,
            "is_own": run.asked_by_id == actor.pk,
        }
        for run in runs
    ]
    told = {"runs": runs, "lines": lines, "headings": listed.headings, "days": settings.EXPORT_DAYS}
    told |= {"month": month, "trouble": trouble}
    return render(request, "desk/exports.html", told, status=400 if trouble else 200)


@require_POST
@page
def report_export(request: HttpRequest, actor: User) -> HttpResponse:
    """Whoever may see the report may ask: the write looks at the role."""
    run = export_ask(
        report=request.POST.get("report", ""),
        query=query_of(request.POST),
        file_format=request.POST.get("format", ""),
        stamp=Stamp(by=actor, at=now()),
    )
    return redirect("run-progress", run_id=run.public_id)


@require_POST
@page
def handover_asked(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    try:
        month = month_read(request.POST.get("month", ""))
    except ValueError as error:
        return _exports_shown(request, actor, request.POST.get("month", ""), f"The month {error}.")
    run = handover_ask(month=month, stamp=Stamp(by=actor, at=now()))
    return redirect("run-progress", run_id=run.public_id)


@require_safe
@page
def export_file_page(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponseBase:
    """The file as it was made."""
    run, path = export_file(actor, run_id)
    reply = StreamingHttpResponse(file_blocks(path), content_type=MEDIA_TYPES[run.file_format])
    reply.headers["Content-Length"] = str(run.size_bytes)
    reply.headers["Content-Disposition"] = str(content_disposition_header(True, run.file_name))
    reply.headers["X-Content-Type-Options"] = "nosniff"
    return reply
