"""Calibration: what closed orders teach about the rates, asked for, looked at, and drafted into a rate book."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from estimating.calibrate import FEWEST_ORDERS, WIDEST_INTERVAL, Calibration, Ratio, Weighed
from orders.calibration.convert import calibration_read, evidence_read, proposed
from orders.calibration.models import CalibrationRun
from orders.calibration.selectors import Evidence, calibration_run_get, calibration_runs
from orders.calibration.services import calibration_ask, calibration_draft_book
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.charts import before_after
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.list_rows import CALIBRATIONS
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.estimates.models import Method, RateBook
from orders.planning.selectors import season_get, seasons
from orders.sites.models import Site

WHAT = "Calibration"
RUNS_A_PAGE = 25
COLUMNS = {
    "asked": Sortable("Asked for", "asked_at"),
    "season": Sortable("Season", "season__name"),
    "crews": Sortable("Crews", "crew_kind"),
    "book": Sortable("Rate book", "rate_book__name"),
    "state": Sortable("State", "state"),
    "draft": Sortable("Draft", "draft__name"),
}


class AskForm(forms.Form):
    """Which season, and whose orders."""

    crew_kind = forms.ChoiceField(choices=RateBook.CREW_KINDS, label="Crews")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(str(row.public_id), row.name) for row in seasons()]
        self.fields["season"] = forms.ChoiceField(choices=named, label="Season")
        self.order_fields(["season", "crew_kind"])


@dataclass(frozen=True)
class Behind:
    """An order behind a ratio: what it was, and how far it was believed."""

    evidence: Evidence
    weighed: Weighed


@dataclass(frozen=True)
class Told:
    """A ratio with its name and the orders behind it."""

    name: str
    ratio: Ratio
    behind: tuple[Behind, ...]


@require_safe
@page
def calibration_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    listed = rows_sorted(request, calibration_runs().defer("evidence", "left_out", "result"), COLUMNS, "-asked")
    if file_asked(request):
        return CALIBRATIONS.reply(listed.found)
    told = {
        "form": AskForm(),
        "has_seasons": seasons().exists(),
        "may_ask": actor.has_role(*DESK),
        "rows": listed.page(request.GET.get("page", "1"), RUNS_A_PAGE),
        "headings": listed.headings,
        "fewest": FEWEST_ORDERS,
    }
    return render(request, "desk/calibration.html", told)


@require_POST
@page
def calibration_asked(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, "Asking for a calibration")
    wanted = asked(AskForm(request.POST))
    season = season_get(UUID(wanted["season"]))
    run = calibration_ask(season=season, crew_kind=wanted["crew_kind"], stamp=Stamp(by=actor, at=now()))
    return redirect("run-progress", run_id=run.public_id)


@require_POST
@page
def calibration_drafted(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Drafting a rate book")
    book = calibration_draft_book(run=calibration_run_get(run_id), stamp=Stamp(by=actor, at=now()))
    return redirect("rate-book", book_id=book.public_id)


@require_safe
@page
def calibration_run_page(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    run = calibration_run_get(run_id)
    if run.result is None:
        return redirect("run-progress", run_id=run_id)
    found = calibration_read(run.result)
    told = {
        "run": run,
        "found": found,
        "may_draft": actor.has_role(*DESK),
        "widest": WIDEST_INTERVAL,
        "fewest": FEWEST_ORDERS,
        "percent": round(found.level * 100),
        **_groups(run, found),
        **(_draft_facts(run) if found.enough else {}),
    }
    return render(request, "desk/calibration_run.html", told)


def _groups(run: CalibrationRun, found: Calibration) -> dict[str, Any]:
    names = dict(Method.objects.values_list("code", "name"))
    by_order = {row.order: row for row in evidence_read(run)}
    weights = {row.order: row for row in found.weights}
    every = {order: Behind(evidence, weights[order]) for order, evidence in by_order.items() if order in weights}

    def told(ratio: Ratio) -> Told:
        words = [names.get(ratio.method, ratio.method), ratio.growth_form, ratio.crew]
        return Told(", ".join(word for word in words if word), ratio, tuple(every[order] for order in ratio.orders))

    methods = [told(ratio) for ratio in found.methods]
    wild = [row for row in every.values() if row.weighed.wild]
    rows = [(row.name, 1.0, row.ratio.ratio, row.ratio.low, row.ratio.high) for row in methods]
    title = f"Rates before and after, as a multiple of the rates of {run.rate_book}"
    return {
        "groups": [
            ("methods", "By method", "Method", methods),
            ("forms", "By method and growth form", "Method and growth form", [told(ratio) for ratio in found.forms]),
            ("crews", "By crew, against all crews", "Crew", [told(ratio) for ratio in found.crews]),
        ],
        "wild": wild,
        "site_names": dict(Site.objects.values_list("code", "name")),
        "chart": before_after(title, rows, "×") if rows else None,
    }


def _draft_facts(run: CalibrationRun) -> dict[str, Any]:
    """The rates that a draft would move; where none can be made, why."""
    if run.draft is not None:
        return {}
    try:
        return {"proposed": proposed(run)}
    except Refusal as refusal:
        return {"no_draft": refusal.detail}
