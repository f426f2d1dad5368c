"""Rows of the database as the frozen facts that estimating reads."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from estimating.columns import Known
from estimating.inputs import GROWTH_FORMS, ComponentFacts, CrewDay, Jobs, PatchFacts, Prices
from estimating.materials import Mix, MixPart
from estimating.methods import MethodTable, methods_from_rows
from estimating.rate_book import RateBook as Rates
from estimating.rate_book import rate_book_from_rows
from estimating.suitability import Suitability
from estimating.units import METRES_PER_MILE
from orders.crews.selectors import standard_rates
from orders.estimates.models import Method, RateBook
from orders.sites.models import Survey, SurveyComponent
from orders.supplies.models import Mix as MixRow
from orders.supplies.selectors import prices

ANSWERS = {"no": Known.NO, "yes": Known.YES, "unknown": Known.UNKNOWN}
RATE_COLUMNS = (
    "kind",
    "method",
    "step",
    "growth_form",
    "driver",
    "from_value",
    "value",
    "unit",
    "cover_exponent",
    "skill",
    "shared_spread",
    "own_spread",
    "source",
)
NAN = float("nan")


def _or_nan(value: float | None) -> float:
    return NAN if value is None else float(value)


def patch_facts(surveys: Sequence[Survey], repeat_years: Mapping[int, int]) -> PatchFacts:
    """One row a survey; `repeat_years` by patch: 1 for a first treatment."""
    columns: dict[str, Any] = {
        "gross_area_m2": [survey.gross_area_m2 for survey in surveys],
        "area_mapped": [survey.geometry["type"] != "Point" for survey in surveys],
        "slope_deg": [survey.slope_deg or 0.0 for survey in surveys],
        "wet_ground": [ANSWERS[survey.wet_ground] for survey in surveys],
        "distance_to_water_m": [_or_nan(survey.distance_to_water_m) for survey in surveys],
        "desirable_tree_roots": [ANSWERS[survey.desirable_tree_roots] for survey in surveys],
        "evergreen_natives": [ANSWERS[survey.evergreen_natives] for survey in surveys],
        "spring_ephemerals": [ANSWERS[survey.spring_ephemerals] for survey in surveys],
        "repeat_year": [repeat_years.get(survey.patch_id, 1) for survey in surveys],
        "target_cover": [survey.patch.target_cover for survey in surveys],
        "walk_in_minutes": [_or_nan(survey.minutes_from_gate) for survey in surveys],
        "drive_minutes": [survey.patch.site.drive_minutes for survey in surveys],
        "drive_km": [float(survey.patch.site.drive_miles) * METRES_PER_MILE / 1000 for survey in surveys],
    }
    return PatchFacts(
        ids=tuple(str(survey.patch) for survey in surveys),
        **columns,
    )


def component_facts(surveys: Sequence[Survey]) -> ComponentFacts:
    """The components of all surveys, in the surveys' order."""
    rows = [(index, component) for index, survey in enumerate(surveys) for component in survey.components.all()]
    found = [component for _, component in rows]
    columns: dict[str, Any] = {
        "patch_index": [index for index, _ in rows],
        "growth_form": [GROWTH_FORMS.index(component.growth_form.code) for component in found],
        "infested_area_m2": [component.infested_area_m2 for component in found],
        "cover_low": [component.cover_low for component in found],
        "cover_likely": [component.cover_likely for component in found],
        "cover_high": [component.cover_high for component in found],
        "cover_from_class": [component.cover_is_class for component in found],
        "stems": np.array([_stems(component) for component in found], dtype=float).reshape(-1, 3),
        "height_m": [component.height_m or 0.0 for component in found],
        "fertile": [ANSWERS[component.fertile] for component in found],
        "evergreen": [Known(int(component.species.evergreen)) for component in found],
        "resprouts": [Known(int(component.species.resprouts)) for component in found],
    }
    return ComponentFacts(
        ids=tuple(f"{surveys[index].patch}: {component}" for index, component in rows),
        species=tuple(component.species.code for component in found),
        **columns,
    )


def _stems(component: SurveyComponent) -> list[float]:
    return [_or_nan(component.stems_small), _or_nan(component.stems_medium), _or_nan(component.stems_large)]


def method_table(methods: Iterable[Method]) -> MethodTable:
    return methods_from_rows([method.facts for method in methods])


def rate_rows(book: RateBook) -> list[dict[str, str]]:
    return [{name: getattr(rate, name) for name in RATE_COLUMNS} for rate in book.rates.order_by("line")]


def rates(book: RateBook) -> Rates:
    return rate_book_from_rows(rate_rows(book))


def crew_day(book: RateBook, known: Rates) -> CrewDay:
    """The standard crew of the book: estimates are made before anybody knows which crew it will be."""
    return known.crew_day(book.standard_crew)


def price_list(book: RateBook, on: date) -> Prices:
    listed = prices(on)
    return Prices(
        role_rate_e4_per_hour=standard_rates(on),
        skill_role=book.skill_roles,
        product_e4_per_l={code: price for (kind, code), price in listed.items() if kind == "product"},
        equipment_e4_per_hour={code: price for (kind, code), price in listed.items() if kind == "equipment"},
        mileage_e4_per_mile=listed.get(("mileage", "mileage"), 0),
        bag_e4=listed.get(("bag", "bag"), 0),
    )


def mix_facts(mix: MixRow) -> Mix:
    return Mix(
        code=mix.code,
        parts=tuple(
            MixPart(
                product=part.product.code,
                role=part.part,
                percent_vv=part.percent_vv,
                rate_l_per_ha=part.rate_l_per_ha,
            )
            for part in mix.parts.all()
        ),
        tank_l=mix.tank_l,
        carrier_l_per_ha=mix.carrier_l_per_ha,
        stem_dose_ml_per_cm=mix.stem_dose_ml_per_cm,
        area_basis=mix.area_basis,
    )


def jobs(
    patches: PatchFacts, components: ComponentFacts, suited: Suitability, methods: Sequence[Method], mixes: list[str]
) -> Jobs:
    """One job for each patch and each method that fits at least one of its components; it treats those it fits."""
    fits = suited.fits != int(Known.NO)
    rows: dict[tuple[int, int], list[int]] = {}
    for component in range(len(components)):
        for method in fits[component].nonzero()[0]:
            rows.setdefault((int(components.patch_index[component]), int(method)), []).append(component)
    mix_of = [mixes.index(m.default_mix.code) if m.default_mix else -1 for m in methods]
    pairs = [(job, component) for job, treated in enumerate(rows.values()) for component in treated]
    columns: dict[str, Any] = {
        "patch_index": [patch for patch, _ in rows],
        "method_index": [method for _, method in rows],
        "mix": [mix_of[method] for _, method in rows],
        "pair_job": [job for job, _ in pairs],
        "pair_component": [component for _, component in pairs],
    }
    return Jobs(
        ids=tuple(f"{patches.ids[patch]}: {methods[method].name}" for patch, method in rows),
        methods=tuple(method.code for method in methods),
        **columns,
    )


def fingerprint(inputs: Mapping[str, Any]) -> str:
    canonical = json.dumps(inputs, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(canonical.encode()).hexdigest()
