"""The cost report: cut, narrowed, sorted, downloaded, and traced to the rows behind each figure."""

from dataclasses import dataclass, replace
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.costs.selectors import costs_open_to
from orders.desk.bars import cost_bars
from orders.desk.forms import CostForm, CostQuestion, RowForm
from orders.desk.views.pages import page
from orders.reports.behind import rows_behind
from orders.reports.costs import CUTS, CostReport, cost_report, cost_report_csv
from orders.reports.cube import DIMENSIONS, names_of
from orders.reports.shown import SORTS, cost_report_document, cost_report_shown

ROWS_A_PAGE = 100

# what the rows may be sorted by -> its heading; the first column is named for the cut
HEADINGS = {
    "planned": "Planned",
    "actual": "Actual",
    "difference": "Difference",
    "planned-hours": "Planned hours",
    "actual-hours": "Actual hours",
}


@dataclass(frozen=True)
class Column:
    heading: str
    address: str
    sorted: str  # for aria-sort; empty where the rows are not sorted by it


def _form(request: HttpRequest, actor: User, kind: type[CostForm] = CostForm) -> CostForm:
    """Whose role does not open costs learns nothing of seasons and funds either."""
    costs_open_to(actor)
    return kind(request.GET)


def _report(actor: User, question: CostQuestion) -> tuple[CostReport, CostReport]:
    """The whole report, and what is shown of it."""
    whole = cost_report(actor=actor, by=question.by, season=question.season, fund=question.fund_id)
    return whole, cost_report_shown(whole, text=question.text, sort=question.sort)


@require_safe
@page
def cost_report_page(request: HttpRequest, actor: User) -> HttpResponse:
    form = _form(request, actor)
    question = form.question()
    whole, shown = _report(actor, question)
    names = _names(question.by)
    named = tuple(replace(row, key=names.get(row.key, row.key)) for row in shown.rows)
    picture, rows_left = cost_bars(replace(shown, rows=named))
    told = {
        "picture": picture,
        "names": names,
        "rows_left": rows_left,
        "asked_fields": [form["season"], form["fund"], form["q"]],
        "plain_address": CostQuestion(by=question.by).address(),
        "fund_name": form.fund_name(question.fund),
        "question": question,
        "whole": whole,
        "report": shown,
        "cuts": [(code, heading, replace(question, by=code, text="").address()) for code, heading in CUTS.items()],
        "columns": [_column(question, name, HEADINGS.get(name, shown.heading)) for name in SORTS],
        "rows": list(zip(shown.rows, question.row_addresses(row.key for row in shown.rows), strict=True)),
        "is_narrowed": len(shown.rows) < len(whole.rows),
    }
    return render(request, "desk/costs.html", told)


def _names(by: str) -> dict[str, str]:
    """What the keys in the first column are called; people know the codes of places and funds as they are."""
    return names_of(DIMENSIONS[by])


def _column(question: CostQuestion, name: str, heading: str) -> Column:
    direction = "descending" if question.sort.startswith("-") else "ascending"
    is_sorted = question.sort.removeprefix("-") == name
    return Column(heading, question.sorted_by(name).address(), direction if is_sorted else "")


@require_safe
@page
def cost_report_file(request: HttpRequest, actor: User, ending: str) -> HttpResponse:
    """What the page of the same address shows, as CSV (RFC 4180) or JSON."""
    question = _form(request, actor).question()
    _, shown = _report(actor, question)
    reply: HttpResponse
    if ending == "csv":
        reply = HttpResponse(cost_report_csv(shown), content_type="text/csv; charset=utf-8; header=present")
    else:
        reply = JsonResponse(cost_report_document(shown), json_dumps_params={"indent": 1})
    reply["Content-Disposition"] = f'attachment; filename="costs-by-{question.by}.{ending}"'
    return reply


@require_safe
@page
def cost_rows_page(request: HttpRequest, actor: User) -> HttpResponse:
    """The ledger rows and the commitments behind one row of the report."""
    form = _form(request, actor, RowForm)
    question = form.question()
    turned = form.cleaned_data
    behind = rows_behind(actor=actor, by=question.by, key=turned["key"], season=question.season, fund=question.fund_id)
    told = {
        "question": question,
        "behind": behind,
        "names": _names(question.by),
        "method_names": _names("method"),
        "row": behind.row,
        "fund_name": form.fund_name(question.fund),
        "ledger": _page(behind.ledger, turned["page"]),
        "commitments": _page(behind.commitments, turned["planned_page"]),
        "here": question.row_addresses([behind.row.key])[0],
    }
    return render(request, "desk/cost_rows.html", told)


def _page(rows: QuerySet[Any], number: int | None) -> Page[Any]:
    return Paginator(rows, ROWS_A_PAGE).get_page(number or 1)
