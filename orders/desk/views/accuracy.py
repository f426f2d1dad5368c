"""How good a season's estimates were, against the hours that crews measured."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.accuracy import LEVEL, PROMISED, Accuracy
from estimating.units import SQUARE_METRES_PER_ACRE
from orders.calibration.selectors import Evidence, calibration_open_to
from orders.common.kept import changes_version, kept
from orders.common.models import User
from orders.desk.charts import range_bars
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.list_rows import ORDERS_MEASURED
from orders.desk.listed import Sorted, file_asked, lines_sorted
from orders.desk.navigation import OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.estimates.models import Method
from orders.planning.models import Season
from orders.planning.selectors import season_get, seasons
from orders.reports.accuracy import GROUPS, AccuracyReport, accuracy_report

SQUARE_METRES_PER_HECTARE = 10_000
ROWS_A_PAGE = 50
ORDER_COLUMNS = {
    "order": Sortable("Work order", "order"),
    "site": Sortable("Site", "site"),
    "crew": Sortable("Crew", "crew"),
    "low": Sortable("Low", "low_hours", is_number=True),
    "estimated": Sortable("Estimated h", "estimated_hours", is_number=True),
    "high": Sortable("High", "high_hours", is_number=True),
    "actual": Sortable("Actual h", "actual_hours", is_number=True),
    "ratio": Sortable("Ratio", "ratio", is_number=True),
    "paid": Sortable("Paid h stated", "recorded_paid_hours", is_number=True),
}


class AccuracyForm(forms.Form):
    by = forms.ChoiceField(choices=list(GROUPS.items()), required=False, label="Cut by")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seasons = [(str(row.public_id), row.name) for row in seasons()]
        self.fields["season"] = forms.ChoiceField(choices=self.seasons, required=False, label="Season")
        self.order_fields(["season", "by"])


@dataclass(frozen=True)
class Line:
    """A row with the name that people read, and its error by the acre."""

    name: str
    accuracy: Accuracy

    @property
    def rmse_hours_per_acre(self) -> float | None:
        found = self.accuracy.rmse_hours_per_ha
        return None if found is None else found * SQUARE_METRES_PER_ACRE / SQUARE_METRES_PER_HECTARE


@require_safe
@page
def accuracy_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, "The accuracy report")
    form = AccuracyForm(request.GET)
    question = asked(form)
    season_id = question["season"] or (form.seasons[0][0] if form.seasons else "")
    told: dict[str, Any] = {"form": AccuracyForm(initial={"season": season_id, "by": question["by"] or "method"})}
    if season_id:
        by = question["by"] or "method"
        report = _report(actor, season_get(UUID(season_id)), by)
        orders = lines_sorted(request, sorted(report.orders, key=_furthest, reverse=True), ORDER_COLUMNS, "")
        if file_asked(request):
            return ORDERS_MEASURED.reply(orders.found)
        told |= _told(report, orders, request.GET)
    return render(request, "desk/accuracy.html", told)


def _report(actor: User, season: Season, by: str) -> AccuracyReport:
    """Read once a change, by whoever may see it."""
    calibration_open_to(actor)
    name = f"accuracy/season-{season.pk}/{by}"
    return kept(name, changes_version(), lambda: accuracy_report(actor=actor, season=season, by=by))


def _told(report: AccuracyReport, orders: Sorted, said: QueryDict) -> dict[str, Any]:
    names = dict(Method.objects.values_list("code", "name")) if report.by == "method" else {}
    lines = [Line(names.get(row.name, row.name), row) for row in report.rows]
    bars = [(line.name, *_bias(line.accuracy)) for line in lines]
    return {
        "report": report,
        "overall": Line("All", report.overall) if report.overall else None,
        "lines": lines,
        "orders": orders.page(said.get("page"), ROWS_A_PAGE),
        "headings": orders.headings,
        "sort": orders.sort,
        "left_out": Paginator(report.left_out, ROWS_A_PAGE).get_page(said.get("left")),
        "is_opened": bool({"page", "left", "sort"} & set(said)),
        "chart": range_bars(f"Actual over estimated hours, by {report.heading.lower()}", bars, "×") if bars else None,
        "promised": round(PROMISED * 100),
        "percent": round(LEVEL * 100),
    }


def _bias(row: Accuracy) -> tuple[float, float, float]:
    """Low, middle and high; one order alone has no interval, and is shown as a point."""
    return row.bias_low or row.bias, row.bias, row.bias_high or row.bias


def _furthest(row: Evidence) -> float:
    return max(row.ratio, 1 / row.ratio)
