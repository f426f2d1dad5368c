"""Estimates: the list, and one estimate opened down to every quantity, rate and rule that made it."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.labels import THE_LAW
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.arithmetic import categories, day_lines, pace_lines, part_formula, quantity_lines, unit
from orders.desk.cautions import DECIDES, cautions
from orders.desk.chart_svg import Chart
from orders.desk.charts import breakdown_bars, tornado
from orders.desk.estimate_list import (
    COLUMNS,
    CSV_HEADINGS,
    NUMBERS,
    EstimateListForm,
    EstimateQuestion,
    estimate_told,
    estimates_shown,
)
from orders.desk.list_file import list_file
from orders.desk.navigation import OFFICE, page_opens_to
from orders.desk.range_arithmetic import hours_range_lines, money_range_lines
from orders.desk.views.pages import page
from orders.estimates.again import estimates_stale
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimate_get, estimate_history
from orders.supplies.selectors import product_names
from orders.workorders.label_checks import label_findings_for

ROWS_A_PAGE = 50
ROWS_AT_ONCE = 2000  # of a file, so that a large one does not stand in memory as rows
WHAT = "The page of estimates"


@dataclass(frozen=True)
class Column:
    heading: str
    address: str
    sorted: str  # for aria-sort; empty where the rows are not sorted by it
    is_number: bool


def _form(request: HttpRequest, actor: User) -> EstimateListForm:
    page_opens_to(actor, OFFICE, WHAT)
    return EstimateListForm(request.GET)


@require_safe
@page
def estimate_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    form = _form(request, actor)
    question = form.question()
    rows = Paginator(estimates_shown(question), ROWS_A_PAGE).get_page(form.cleaned_data["page"] or 1)
    told = {
        "question": question,
        "asked_fields": [form[name] for name in ("q", "site", "method", "book", "crew")],
        "newest_field": form["newest"],
        "columns": [_column(question, name) for name in COLUMNS],
        "rows": rows,
    }
    return render(request, "desk/estimates.html", told)


def _column(question: EstimateQuestion, name: str) -> Column:
    heading, _ = COLUMNS[name]
    direction = "descending" if question.sort.startswith("-") else "ascending"
    is_sorted = question.sort.removeprefix("-") == name
    return Column(heading, question.sorted_by(name).address(), direction if is_sorted else "", name in NUMBERS)


@require_safe
@page
def estimate_list_file(request: HttpRequest, actor: User) -> HttpResponse:
    """All rows that the page of the same address shows, whatever page of them."""
    question = _form(request, actor).question()
    return list_file("estimates", CSV_HEADINGS, map(estimate_told, estimates_shown(question).iterator(ROWS_AT_ONCE)))


@require_safe
@page
def estimate_page(request: HttpRequest, actor: User, estimate_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    estimate = estimate_get(estimate_id)
    result = estimate.result
    site = estimate.survey.patch.site
    today = Stamp(by=actor, at=now()).local_date(site.time_zone)
    told = {
        "estimate": estimate,
        "patch": estimate.survey.patch,
        "result": result,
        "stale": estimates_stale([estimate], today)[estimate.pk],
        "cautions": cautions(estimate),
        "decides": DECIDES,
        "names": _names(estimate),
        "findings": label_findings_for([estimate], on=today)[estimate.pk] if estimate.mix_id else (),
        "the_law": THE_LAW,
        "today": today,
        "steps": _steps(result),
        "breakdown": _breakdown(result),
        "pace": pace_lines(result),
        "day": day_lines(result),
        "people": _people(result),
        "quantities": quantity_lines(result),
        "categories": categories(result),
        "hours_range": hours_range_lines(result),
        "money_range": money_range_lines(result),
        "drivers": result.get("range", {}).get("drivers", []),
        "tornado": _tornado(result),
        "history": estimate_history(estimate),
    }
    return render(request, "desk/estimate.html", told)


def _steps(result: dict[str, Any]) -> list[dict[str, Any]]:
    """Each step with its parts, and the formula of each part written out."""
    return [
        step
        | {
            "parts": [
                part | {"formula": part_formula(part), "unit_word": unit(part["quantity_unit"])}
                for part in step["parts"]
            ],
            "counted": sum(part["hours"] or 0 for part in step["parts"]),
        }
        for step in result.get("steps", [])
    ]


def _breakdown(result: dict[str, Any]) -> Chart | None:
    rows = [(step["step"], step["hours"], step["skill"]) for step in result.get("steps", []) if step["hours"]]
    return breakdown_bars("Standard person-hours by step", rows, "h") if rows else None


def _tornado(result: dict[str, Any]) -> Chart | None:
    found = result.get("range", {})
    rows = [(driver["name"], driver["low_hours"], driver["high_hours"]) for driver in found.get("drivers", [])]
    return tornado("What moves the hours", found["likely_hours"], rows, "h") if rows else None


ROLES = {"crew-member": "crew member", "crew-lead": "crew lead"}


def _names(estimate: Estimate) -> dict[str, str]:
    """What the codes in an explanation are called: its products, the species on the patch, roles."""
    species = {
        row.species.code: row.species.common_name for row in estimate.survey.components.select_related("species")
    }
    return ROLES | species | product_names(estimate.result.get("materials", {}).get("product_l", {}))


def _people(result: dict[str, Any]) -> str:
    crew = result.get("crew_day", {}).get("people", {})
    return ", ".join(f"{count} {role.replace('-', ' ')}" for role, count in crew.items())
