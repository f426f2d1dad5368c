"""Rows of the database as the frozen facts that estimating reads."""

from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from estimating.columns import Known
from estimating.errors import EstimatingError
from estimating.estimate import EstimateInputs, EstimateResult, estimate
from estimating.inputs import (
    GROUND_KINDS,
    GROWTH_FORMS,
    ComponentFacts,
    CrewDay,
    Jobs,
    PatchFacts,
    Prices,
)
from estimating.materials import Mix, MixPart
from estimating.methods import MethodTable, methods_from_rows
from estimating.pricing import blended_rate_e4
from estimating.rate_book import RateBook as Rates
from estimating.rate_book import rate_book_from_rows
from estimating.suitability import Suitability, suit
from estimating.units import METRES_PER_MILE
from orders.common.errors import FieldError, Invalid
from orders.crews.selectors import standard_rates
from orders.estimates.models import Method, RateBook
from orders.sites.models import Survey, SurveyComponent
from orders.supplies.models import Mix as MixRow
from orders.supplies.selectors import contract_minimums, prices, product_prices

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
INPUTS_VERSION = 2
# As the role of a skill: the whole standard crew does the work, which costs its average rate. So a volunteer crew costs
# what its paid lead costs, and not nothing.
WHOLE_CREW = "whole-crew"


def refusal_of(error: EstimatingError) -> Invalid:
    """What estimating says of a row, as the interfaces say it."""
    return Invalid(error.message, [FieldError(error.field or "rows", error.message, error.row, error.code)])


def _or_nan(value: float | None) -> float:
    return NAN if value is None else float(value)


def patch_facts(surveys: Sequence[Survey], repeat_years: Mapping[int, int] | Sequence[int]) -> PatchFacts:
    """One row a survey; `repeat_years` by patch, or one for each survey: 1 for a first treatment."""
    if isinstance(repeat_years, Mapping):
        repeat_years = [repeat_years.get(survey.patch_id, 1) for survey in surveys]
    columns: dict[str, Any] = {
        "gross_area_m2": [survey.gross_area_m2 for survey in surveys],
        "area_mapped": [survey.geometry["type"] != "Point" for survey in surveys],
        "slope_deg": [survey.slope_deg or 0.0 for survey in surveys],
        "ground": [GROUND_KINDS.index(survey.ground) for survey in surveys],
        "wet_ground": [ANSWERS[survey.wet_ground] for survey in surveys],
        "distance_to_water_m": [_or_nan(survey.distance_to_water_m) for survey in surveys],
        "desirable_tree_roots": [ANSWERS[survey.desirable_tree_roots] for survey in surveys],
        "evergreen_natives": [ANSWERS[survey.evergreen_natives] for survey in surveys],
        "spring_ephemerals": [ANSWERS[survey.spring_ephemerals] for survey in surveys],
        "repeat_year": list(repeat_years),
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
        "cut_height_m": [_or_nan(component.cut_height_m) for component in found],
        "fertile": [ANSWERS[component.fertile] for component in found],
        "evergreen": [Known(int(component.species.evergreen)) for component in found],
        "resprouts": [Known(int(component.species.resprouts)) for component in found],
        "reroots": [ANSWERS[component.species.pulled_stems_reroot] for component in found],
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


def judged(patches: PatchFacts, components: ComponentFacts, listed: Sequence[Method]) -> Suitability:
    """Every method judged; what is no longer in use is not recommended."""
    suited = suit(patches, components, method_table(listed))
    if all(method.is_active for method in listed):
        return suited
    return suited.among(np.broadcast_to([method.is_active for method in listed], suited.fits.shape))


def rate_rows(book: RateBook) -> list[dict[str, str]]:
    return list(book.rates.order_by("line").values(*RATE_COLUMNS))


def rates(book: RateBook) -> Rates:
    return rate_book_from_rows(rate_rows(book))


def rates_checked(rows: Iterable[Mapping[str, str]]) -> Rates:
    """The rows as a whole book; a row that cannot be used is refused by its number (from 1) and its column."""
    try:
        return rate_book_from_rows([{name: row.get(name, "") for name in RATE_COLUMNS} for row in rows])
    except EstimatingError as error:
        raise refusal_of(error) from error


def crew_day(book: RateBook, known: Rates) -> CrewDay:
    """The standard crew of the book: estimates are made before anybody knows which crew it will be."""
    return known.crew_day(book.standard_crew)


def crew_day_checked(book: RateBook, known: Rates) -> CrewDay:
    """The same, where the book's day may not add up yet: what is wrong is refused by name."""
    try:
        return crew_day(book, known)
    except EstimatingError as error:
        raise refusal_of(error) from error


def price_list(book: RateBook, on: date) -> Prices:
    listed, products = prices(on), product_prices(on)
    return Prices(
        role_rate_e4_per_hour=role_rates(book, on),
        skill_role=book.skill_roles,
        product_e4_per_l={code: price.price_e4_per_l for code, price in products.items()},
        product_source={code: price.source for code, price in products.items()},
        equipment_e4_per_hour=_of_kind(listed, "equipment"),
        mileage_e4_per_mile=listed.get(("mileage", "mileage"), 0),
        bag_e4=listed.get(("bag", "bag"), 0),
        fuel_e4_per_l=listed.get(("fuel", "fuel"), 0),
        blade_e4=listed.get(("blade", "blade"), 0),
        contract_e4_per_ha=_of_kind(listed, "contract"),
        contract_minimum_e4=contract_minimums(on),
    )


def role_rates(book: RateBook, on: date) -> dict[str, int]:
    """Standard rates by role, and the average of the book's standard crew for work that all of them share."""
    listed = standard_rates(on)
    crew = {role: count for role, count in book.standard_crew.items() if count}
    if not crew or not set(crew) <= set(listed):
        return listed
    return {**listed, WHOLE_CREW: round(blended_rate_e4(crew, listed))}


def _of_kind(listed: Mapping[tuple[str, str], int], kind: str) -> dict[str, int]:
    return {code: price for (each, code), price in listed.items() if each == kind}


def mix_facts(mix: MixRow) -> Mix:
    return Mix(
        code=mix.code,
        parts=tuple(
            MixPart(
                product=part.product.code,
                role=part.part,
                percent_vv=part.percent_vv,
                rate_l_per_ha=part.rate_l_per_ha,
                formulation=part.product.formulation,
            )
            for part in mix.parts.all()
        ),
        tank_l=mix.tank_l,
        carrier_l_per_ha=mix.carrier_l_per_ha,
        stem_dose_ml_per_cm=mix.stem_dose_ml_per_cm,
        area_basis=mix.area_basis,
    )


def jobs(
    patches: PatchFacts,
    components: ComponentFacts,
    suited: Suitability,
    methods: Sequence[Method],
    mixes: list[str],
    wanted: Container[tuple[int, str]] | None = None,
) -> Jobs:
    """One job for each patch and each method that fits at least one of its components; it treats those it fits.

    `wanted` keeps only the jobs of these rows of the patches and codes of methods.
    """
    fits = suited.fits != int(Known.NO)
    rows: dict[tuple[int, int], list[int]] = {}
    for component in range(len(components)):
        for method in fits[component].nonzero()[0]:
            patch = int(components.patch_index[component])
            if wanted is None or (patch, methods[method].code) in wanted:
                rows.setdefault((patch, int(method)), []).append(component)
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


def estimate_inputs(
    surveys: Sequence[Survey],
    book: RateBook,
    listed: Iterable[Method],
    *,
    on: date,
    repeat_years: Mapping[int, int] | Sequence[int],
    wanted: Container[tuple[int, str]] | None = None,
) -> EstimateInputs:
    """All that estimating is given for these surveys: every method of the list that the book has rates for and that
    fits, at the prices of a day. `repeat_years` by patch, or one for each survey."""
    known = rates(book)
    used = [method for method in listed if method.code in known.steps]
    patches, components = patch_facts(surveys, repeat_years), component_facts(surveys)
    suited = suit(patches, components, method_table(used))
    mixes = tuple(mix_facts(method.default_mix) for method in used if method.default_mix)
    return EstimateInputs(
        patches=patches,
        components=components,
        jobs=jobs(patches, components, suited, used, [mix.code for mix in mixes], wanted),
        rate_book=known,
        crew_day=crew_day(book, known),
        prices=price_list(book, on),
        mixes=mixes,
    )


def estimated(asked: EstimateInputs) -> EstimateResult:
    return estimate(
        asked.patches, asked.components, asked.jobs, asked.rate_book, asked.crew_day, asked.prices, asked.mixes
    )


def inputs_read(stored: Mapping[str, Any]) -> dict[str, Any]:
    """Frozen inputs of any version in today's shape. Version 1 knew no ground, no re-rooting, no height of the upper
    cut and no volunteers: what was not asked then is unknown, not no."""
    if stored["version"] >= INPUTS_VERSION:
        return dict(stored)
    added = {"reroots": int(Known.UNKNOWN), "cut_height_m": None}
    return {
        **stored,
        "version": INPUTS_VERSION,
        "patch": {"ground": GROUND_KINDS.index("unknown"), **stored["patch"]},
        "components": [{**added, **component} for component in stored["components"]],
        "rate_book": {"crew_kind": "staff", **stored["rate_book"]},
    }
