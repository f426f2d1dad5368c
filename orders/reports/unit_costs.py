"""What an area of treated ground cost, and what an area of cover that is gone cost.

Treated is what standing close-outs state: the area drawn or typed, else the percent done of the estimate's treated
area. Cover that is gone is known only where somebody checked: work that was prescribed as a check of the treatment is
done, and a survey of the patch from that day or later says what is left.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from estimating.pricing import to_cents
from estimating.units import SQUARE_METRES_PER_ACRE
from orders.common.models import User
from orders.costs.models import LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.reports.asking import Asked, asked_read
from orders.reports.cost_table import behind
from orders.reports.cube import Cube, Dimension, dimensions_named, keyed_sums, names_of
from orders.reports.lines import Line
from orders.reports.table import Column, Table
from orders.sites.models import Survey, SurveyComponent
from orders.workorders.selectors import outcomes_standing

USUAL_CUT = "method"
CUTS = ("method", "site", "patch", "species", "crew", "order")  # each follows from the order and the prescription
SQUARE_METRES_PER_HECTARE = 10_000
NO_CHECK = "no check yet"
Work = tuple[int | None, int | None]  # ids of an order and a prescription


@dataclass
class Sums:
    cents: int = 0
    area_m2: float = 0.0
    checked_cents: int = 0
    gone_m2: float = 0.0
    is_checked: bool = False


def unit_cost_table(actor: User, query: Mapping[str, str]) -> Table:
    costs_open_to(actor)
    asked = asked_read(query, by=USUAL_CUT)
    [dimension] = dimensions_named([asked.by])
    sums = _sums(asked, dimension)
    names, cube = names_of(dimension), Cube((dimension,), {})
    columns = (
        Column(dimension.code, dimension.heading, "text"),
        Column("actual_cents", "Cost", "cents", total=True),
        Column("treated_m2", "Treated", "area_m2"),
        Column("acre_cents", "Cost an acre", "cents"),
        Column("hectare_cents", "Cost a hectare", "cents"),
        Column("gone_m2", "Cover gone", "area_m2"),
        Column("gone_cents", "Cost of work checked", "cents", total=True),
        Column("gone_m2_cents", "Cost a square meter of cover gone", "cents"),
    )
    rows = [Line.of((names.get(key, key), *_cells(one)), **behind(cube, (key,))) for key, one in sums.items()]
    title = f"Unit cost by {dimension.heading.lower()}"
    return Table(title, asked.told(), columns, rows, ("Total", *_cells(_together(sums))))


def _cells(one: Sums) -> tuple[Any, ...]:
    return (
        one.cents,
        one.area_m2 or None,
        unit_cents(one.cents, one.area_m2, SQUARE_METRES_PER_ACRE),
        unit_cents(one.cents, one.area_m2, SQUARE_METRES_PER_HECTARE),
        one.gone_m2 if one.is_checked else None,
        one.checked_cents,
        unit_cents(one.checked_cents, one.gone_m2, 1) if one.is_checked else NO_CHECK,
    )


def unit_cents(cents: int, area_m2: float, unit_m2: float) -> int | None:
    """Cost of a unit of area; None where there is no area to divide by, or cover grew."""
    if area_m2 <= 0:
        return None
    return to_cents(Fraction(cents, 100) * Fraction(unit_m2) / Fraction(area_m2))


def _together(sums: Mapping[str, Sums]) -> Sums:
    rows = sums.values()
    return Sums(
        sum(row.cents for row in rows),
        sum(row.area_m2 for row in rows),
        sum(row.checked_cents for row in rows),
        sum(row.gone_m2 for row in rows),
        any(row.is_checked for row in rows),
    )


def _sums(asked: Asked, dimension: Dimension) -> dict[str, Sums]:
    """By key; the area of each piece of work counts once, wherever its costs stand."""
    treated, gone = _treated(), _cover_gone()
    sums: dict[str, Sums] = {}
    for key, work, cents, _ in keyed_sums(LedgerEntry, dimension, ("order_id", "prescription_id"), asked):
        one = sums.setdefault(key, Sums())
        one.cents += cents
        one.area_m2 += treated.get(work, 0.0)
        if work in gone:
            one.is_checked = True
            one.checked_cents += cents
            one.gone_m2 += gone[work]
    return sums


def _treated() -> dict[Work, float]:
    named = ("close_out__order_id", "prescription_id", "percent_complete", "area_done_m2", "prescription__share_left")
    rows = outcomes_standing().values_list(*named, "prescription__estimate__treated_area_m2").order_by()
    return {
        (order, prescription): percent / 100 * share * whole if done is None else done
        for order, prescription, percent, done, share, whole in rows
    }


def _cover_gone() -> dict[Work, float]:
    """Square meters of cover before less after, of the work that was checked."""
    checks = outcomes_standing().filter(prescription__purpose="check", prescription__state="done")
    named = ("prescription__follows_id", "prescription__patch_id", "close_out__work_date")
    checked_on = {followed: (patch, day) for followed, patch, day in checks.values_list(*named).order_by()}
    treated = outcomes_standing().filter(prescription_id__in=checked_on).order_by()
    surveys = _surveys({patch for patch, _ in checked_on.values()})
    covers = _covers()
    gone: dict[Work, float] = {}
    told = ("close_out__order_id", "prescription_id", "prescription__estimate__survey_id")
    for order, prescription, before in treated.values_list(*told):
        after = _first_after(surveys, *checked_on[prescription])
        if after is not None and after != before:
            gone[order, prescription] = covers.get(before, 0.0) - covers.get(after, 0.0)
    return gone


def _surveys(patches: set[int]) -> dict[int, list[tuple[date, int]]]:
    rows = Survey.objects.filter(patch_id__in=patches, voided_at__isnull=True).order_by("observed_on", "id")
    found: dict[int, list[tuple[date, int]]] = {}
    for patch, day, survey in rows.values_list("patch_id", "observed_on", "id"):
        found.setdefault(patch, []).append((day, survey))
    return found


def _first_after(surveys: Mapping[int, list[tuple[date, int]]], patch: int, day: date) -> int | None:
    return next((survey for observed, survey in surveys.get(patch, []) if observed >= day), None)


def _covers() -> dict[int, float]:
    """Square meters under leaves, by survey: infested area times cover, all species together."""
    covers: dict[int, float] = {}
    rows = SurveyComponent.objects.order_by().values_list("survey_id", "infested_area_m2", "cover_likely")
    for survey, area, cover in rows:
        covers[survey] = covers.get(survey, 0.0) + area * cover
    return covers
