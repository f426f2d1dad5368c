"""Reports about money: the list, a report as a page, and the rows behind one of its figures."""

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.forms import asked
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.report_forms import BehindForm, ReportForm, address_of
from orders.desk.report_lines import ROWS_A_PAGE, behind_address, shown
from orders.desk.views.pages import page
from orders.reports.asking import asked_read
from orders.reports.behind import cell_behind
from orders.reports.catalog import Report, report_open_to, report_table, reports_open_to
from orders.reports.cost_table import cost_crossed
from orders.reports.cube import DIMENSIONS, names_of


@require_safe
@page
def reports_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, "The list of reports")
    return render(request, "desk/reports.html", {"reports": reports_open_to(actor)})


@require_safe
@page
def report_page(request: HttpRequest, actor: User, code: str) -> HttpResponse:
    report = report_open_to(actor, code)
    form = ReportForm(report, request.GET)
    turned = asked(form)
    query = form.query()
    table = report_table(actor, code, query)
    told = {
        "report": report,
        "form": form,
        "query": query,
        "address": address_of(query),
        "words": address_of({**query, **({"sort": turned["sort"]} if turned["sort"] else {})}).removeprefix("?"),
        "table": table,
        "shown": shown(report, table, query=query, sort=turned["sort"], page=turned["page"]),
        "crossed": _crossed(actor, report, query),
    }
    return render(request, "desk/report.html", told)


def _crossed(actor: User, report: Report, query: dict[str, str]) -> dict[str, Any] | None:
    found = cost_crossed(actor, query) if report.code == "cost" else None
    if found is None:
        return None
    rows = [
        (label, [(cents, behind_address(report, {**query, **words})) for cents, words in cells], total)
        for label, cells, total in found.rows
    ]
    return {"found": found, "rows": rows}


@require_safe
@page
def report_rows_page(request: HttpRequest, actor: User, code: str) -> HttpResponse:
    """The ledger rows and the commitments behind one figure."""
    report = report_open_to(actor, code)
    form = BehindForm(report, request.GET)
    turned = asked(form)
    query = form.query()
    behind = cell_behind(actor=actor, asked=asked_read(query), cell=form.cell())
    told = {
        "report": report,
        "address": address_of(query),
        "behind": behind,
        "row": behind.figures,
        "filters": asked_read(query).told(),
        "method_names": names_of(DIMENSIONS["method"]),
        "ledger": _page(behind.ledger, turned["page"]),
        "commitments": _page(behind.commitments, turned["planned_page"]),
    }
    return render(request, "desk/report_rows.html", told)


def _page(rows: QuerySet[Any], number: int | None) -> Page[Any]:
    return Paginator(rows, ROWS_A_PAGE).get_page(number or 1)
