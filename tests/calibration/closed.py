"""Closed orders of a season with known ratios of actual to estimated hours. Invented figures."""

from dataclasses import dataclass
from typing import Any

from orders.calibration.models import CalibrationRun
from orders.common.runs import run_claim, run_perform
from tests import build

FIELD_HOURS, PAID_HOURS = 12.0, 16.0
# Ten ratios around 1.5.
RATIOS = (1.2, 1.35, 1.4, 1.45, 1.5, 1.55, 1.6, 1.65, 1.7, 1.9)


@dataclass
class Closed:
    """A season, the book that its orders were estimated with, and the crews."""

    season: Any
    book: Any
    crews: list[Any]

    def order(
        self,
        ratio,
        *,
        method="cut",
        form="climbing",
        crew=0,
        origin="typed",
        percent=100,
        share=1.0,
        book=None,
        **frozen,
    ):
        """One order of one patch whose crew of one took `ratio` times the estimated paid hours."""
        used, lead = book or self.book, self.crews[crew]
        frozen = {"result": result_of(form), **frozen}
        estimate = build.EstimateFactory(rate_book=used, method__code=method, **frozen)
        where = {"season": self.season, "site": estimate.survey.patch.site, "crew": lead}
        asked = build.PrescriptionFactory(season=self.season, patch=estimate.survey.patch, estimate=estimate)
        visit = build.VisitFactory(**where, state="done")
        build.VisitShareFactory(visit=visit, prescription=asked, share=share)
        order = build.WorkOrderFactory(**where, state="closed", visits=[visit])
        close_out = build.CloseOutFactory(order=order)
        build.PatchOutcomeFactory(close_out=close_out, prescription=asked, percent_complete=percent)
        minutes = round(PAID_HOURS * ratio * share * percent / 100 * 60)
        build.TimeEntryFactory(close_out=close_out, visit=visit, minutes=minutes, origin=origin)
        return order


def result_of(form):
    parts = [{"growth_form": form, "hours": FIELD_HOURS - 1}]
    steps = [{"step": "search", "parts": [{"hours": 1.0}]}, {"step": "cut", "parts": parts}]
    return {"version": 2, "steps": steps, "field_person_hours": {"survey_log_sd": 0.07}}


def closed_build(ratios=(), crew_kind="staff"):
    """Two crews take the orders in turn."""
    book = build.RateBookFactory(name="Reference", state="in_force", crew_kind=crew_kind)
    shared = {"book": book, "shared_spread": "0.3", "own_spread": "0.35", "skill": "crew"}
    named = {"method": "cut", "driver": "infested_area_m2", "unit": "h/ha"}
    build.RateFactory(**shared, **named, line=1, step="cut", growth_form="climbing", value="100")
    build.RateFactory(**shared, **named, line=2, step="cut", growth_form="shrub", value="40")
    searched = {"method": "cut", "step": "search", "driver": "gross_area_m2", "unit": "h/ha"}
    build.RateFactory(**shared, **searched, line=3, value="4")
    build.RateFactory(book=book, line=4, kind="allowance", step="shift_hours", value="8", unit="h")
    crews = [build.CrewFactory(name=name, people=0) for name in ("Alder crew", "Birch crew")]
    season = build.SeasonFactory(name="Winter 2027")
    made = Closed(season, book, crews)
    for number, ratio in enumerate(ratios):
        made.order(ratio, crew=number % 2)
    return made


def calibrated(closed, moment, crew_kind="staff"):
    """A run that is done."""
    run = build.CalibrationRunFactory(season=closed.season, crew_kind=crew_kind)
    attempt = run_claim(run, at=moment)
    assert attempt is not None
    run_perform(run, attempt, clock=lambda: moment)
    return CalibrationRun.objects.get(pk=run.pk)
