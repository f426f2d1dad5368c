"""An estimate under other conditions: another crew, heat, people who are new to it, another mix. Nothing is stored.

Facts and prices are those that the estimate froze, by its own rate book. What it had no price for (a role or a product
that it does not use) is priced as of the day on which it is tried, and `Tried.notes` say so.
"""

import math
from collections.abc import Iterator, Mapping
from copy import copy
from dataclasses import asdict, dataclass, fields, replace
from datetime import date
from typing import Any

import numpy as np

from estimating.crewday import HEAT_FROM_F
from estimating.errors import EstimatingError
from estimating.estimate import EstimateInputs
from estimating.explain import explain
from estimating.inputs import WORKLOADS, CrewDay, Prices
from estimating.materials import Mix
from estimating.pricing import blended_rate_e4
from estimating.rate_book import RateBook as Rates
from orders.common.errors import FieldError, Invalid
from orders.estimates import convert
from orders.estimates.models import Estimate
from orders.estimates.rebuilt import inputs_rebuilt
from orders.supplies.models import Mix as MixRow
from orders.supplies.selectors import mixes, product_prices

LOWEST_F, HIGHEST_F = 0.0, 130.0  # beyond these a figure is a slip of the keyboard, not weather to work in
MOST_OF_A_ROLE, LAST_DAY_IN_HEAT = 40, 60
WRONG = "This cannot be tried as asked."
UP_TO_SHARE = 1e-9  # an estimate computed again by the same arithmetic agrees this well

Told = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Trial:
    """What is asked; None leaves a condition as the estimate has it. `people` by labor role, `mix` by its code."""

    people: Mapping[str, int] | None = None
    air_temperature_f: float | None = None
    workload: str | None = None
    new_workers: int | None = None
    returning_workers: int | None = None
    day_in_heat: int | None = None
    mix: str | None = None


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What is compared; `tank_loads` is None where an old estimate did not keep them."""

    person_hours: float
    paid_person_hours: float
    crew_hours: float
    crew_days: float
    hours_low: float
    hours_likely: float
    hours_high: float
    hours_mean: float
    labor_cents: int
    material_cents: int
    equipment_cents: int
    mileage_cents: int
    total_cents: int
    cost_low_cents: int
    cost_high_cents: int
    contingency_cents: int | None
    treated_area_m2: float
    spray_volume_l: float
    tank_loads: float | None
    products_ul: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class Tried:
    """`new` and `told` (the whole explanation) are None where the trial has no figures; `notes` say why.

    `people`, `day` and `mix` are what it was tried with; `variant` is the estimate with what it would put down, for the
    labels' word: never to be stored.
    """

    estimate: Estimate
    asked: Trial
    day: CrewDay
    mix: str
    old: Figures
    new: Figures | None
    told: Told | None
    notes: tuple[str, ...]
    variant: Estimate

    @property
    def is_other_mix(self) -> bool:
        return self.mix != ((self.estimate.inputs.get("mix") or {}).get("code") or "")

    def without_figures(self, reason: str) -> "Tried":
        return replace(self, new=None, told=None, notes=(reason, *self.notes))


def estimate_tried(estimate: Estimate, asked: Trial, on: date) -> Tried:
    """The estimate's one job under the conditions asked. Errors: `Invalid` naming each field that cannot be tried."""
    frozen = inputs_rebuilt(estimate)
    known_rates = convert.role_rates(estimate.rate_book, on)
    _check(frozen, asked, known_rates)
    mix = _mix(estimate, frozen, asked.mix)
    day = _day(frozen, asked)
    prices, priced = _prices(frozen, day, mix, known_rates, on)
    jobs = replace(frozen.jobs, mix=np.full(1, 0 if mix else -1, np.int64))
    tried = replace(frozen, jobs=jobs, crew_day=day, prices=prices, mixes=(mix,) if mix else ())
    told = _told(tried)
    return Tried(
        estimate=estimate,
        asked=asked,
        day=day,
        mix=mix.code if mix else "",
        old=figures_of(estimate),
        new=_figures(told) if told["ok"] else None,
        told=told if told["ok"] else None,
        notes=(*told["notes"], *_notes(estimate, frozen, day, told, priced)),
        variant=_variant(estimate, told, mix),
    )


def _told(inputs: EstimateInputs) -> Told:
    try:
        return explain(convert.estimated(inputs), 0)
    except EstimatingError as error:
        raise convert.refusal_of(error) from error


def _check(frozen: EstimateInputs, asked: Trial, known_rates: Mapping[str, int]) -> None:
    """Every field that cannot be, all at once."""
    errors = [*_people_errors(frozen, asked, known_rates), *_day_errors(asked)]
    if errors:
        raise Invalid(WRONG, [FieldError(field, message) for field, message in errors])


def _rated(frozen: EstimateInputs, known_rates: Mapping[str, int]) -> set[str]:
    """Roles with a rate, frozen or of the day; the whole crew's average is none that a person has."""
    return {*frozen.crew_day.people, *frozen.prices.role_rate_e4_per_hour, *known_rates} - {convert.WHOLE_CREW}


def roles_to_try(estimate: Estimate, on: date) -> dict[str, int]:
    """Roles that can be tried, with the people of each in the estimate's own crew, which come first."""
    frozen = inputs_rebuilt(estimate)
    own = frozen.crew_day.people
    others = sorted(_rated(frozen, convert.role_rates(estimate.rate_book, on)) - {*own})
    return {**own, **dict.fromkeys(others, 0)}


def day_of(estimate: Estimate) -> CrewDay:
    """The crew's day that the estimate was made with."""
    return inputs_rebuilt(estimate).crew_day


def _people_errors(frozen: EstimateInputs, asked: Trial, known_rates: Mapping[str, int]) -> Iterator[tuple[str, str]]:
    people = frozen.crew_day.people if asked.people is None else asked.people
    rated = _rated(frozen, known_rates)
    for role, count in (asked.people or {}).items():
        if role not in rated:
            yield "people", f"{role}: there is no standard rate for this role"
        if not 0 <= count <= MOST_OF_A_ROLE:
            yield "people", f"{role}: must be from 0 to {MOST_OF_A_ROLE}"
    if sum(people.values()) < 1:
        yield "people", "a crew has at least one person"
    unused = {"new_workers": asked.new_workers or 0, "returning_workers": asked.returning_workers or 0}
    for field, count in unused.items():
        if count < 0:
            yield field, "must be 0 or more"
    if sum(unused.values()) > sum(people.values()):
        wrong = "new_workers" if asked.new_workers else "returning_workers"
        yield wrong, f"new and returning workers are some of the crew, which has {sum(people.values())}"


def _day_errors(asked: Trial) -> Iterator[tuple[str, str]]:
    degrees = asked.air_temperature_f
    if degrees is not None and not (math.isfinite(degrees) and LOWEST_F <= degrees <= HIGHEST_F):
        yield "air_temperature_f", f"must be from {LOWEST_F:g} to {HIGHEST_F:g} °F"
    if asked.workload is not None and asked.workload not in WORKLOADS:
        yield "workload", f"must be one of {', '.join(WORKLOADS)}"
    if asked.day_in_heat is not None and not 1 <= asked.day_in_heat <= LAST_DAY_IN_HEAT:
        yield "day_in_heat", f"must be from 1 to {LAST_DAY_IN_HEAT}"


def _day(frozen: EstimateInputs, asked: Trial) -> CrewDay:
    """The estimate's own day with what is asked; the pace of another crew is the rate book's."""
    given = {
        name: value for name, value in asdict(asked).items() if value is not None and name not in ("people", "mix")
    }
    if asked.people is None:
        return replace(frozen.crew_day, **given)
    people = {role: count for role, count in asked.people.items() if count}
    pace = {**frozen.rate_book.crew_day(people).pace, **frozen.crew_day.pace}
    return replace(frozen.crew_day, people=people, pace={role: pace[role] for role in people if role in pace}, **given)


def mixes_to_try(estimate: Estimate) -> list[MixRow]:
    """Mixes that are measured out the way the method works; whether the labels allow them is another question."""
    if not estimate.method.uses_herbicide or "patch" not in estimate.inputs:
        return []
    by_stem = _by_stem(convert.rates(estimate.rate_book), estimate)
    offered = [mix for mix in mixes() if mix.is_active or mix.pk == estimate.mix_id]
    return [mix for mix in offered if by_stem is None or (mix.stem_dose_ml_per_cm is not None) == by_stem]


def _by_stem(book: Rates, estimate: Estimate) -> bool | None:
    """Whether the method doses stems (True) or sprays an area (False), by the book's usual volume; None: not known."""
    code = estimate.method.code
    if book.find("allowance", "carrier_l_per_ha", code) is not None:
        return False
    return True if book.find("allowance", "stem_dose_ml_per_cm", code) is not None else None


def _mix(estimate: Estimate, frozen: EstimateInputs, code: str | None) -> Mix | None:
    own = frozen.mixes[0] if frozen.mixes else None
    if code is None or (own is not None and code == own.code):
        return own
    found = mixes().filter(code=code).first()
    if not estimate.method.uses_herbicide:
        wrong = f"{estimate.method.name} uses no herbicide, so there is no mix to try"
    elif found is None:
        wrong = "there is no such mix"
    elif not found.is_active:
        wrong = f"{found.name} is no longer in use"
    elif (by_stem := _by_stem(frozen.rate_book, estimate)) is not None and by_stem != bool(found.stem_dose_ml_per_cm):
        does = "doses stems" if by_stem else "sprays an area"
        wrong = f"{estimate.method.name} {does}; this mix is measured out the other way"
    else:
        return convert.mix_facts(found)
    raise Invalid(WRONG, [FieldError("mix", wrong)])


def _prices(
    frozen: EstimateInputs, day: CrewDay, mix: Mix | None, known_rates: Mapping[str, int], on: date
) -> tuple[Prices, list[str]]:
    """The frozen prices, with those of the day for what they lack; and the names of what was so priced."""
    rates = dict(frozen.prices.role_rate_e4_per_hour)
    added_roles = [role for role in day.people if role not in rates]
    rates |= {role: known_rates[role] for role in added_roles}
    if convert.WHOLE_CREW in rates and day.people != frozen.crew_day.people:
        rates[convert.WHOLE_CREW] = round(blended_rate_e4(day.people, rates))
    costs, sources = dict(frozen.prices.product_e4_per_l), dict(frozen.prices.product_source)
    needed = [part.product for part in mix.parts if part.product not in costs] if mix else []
    listed = product_prices(on) if needed else {}
    for product in needed:
        if product not in listed:
            raise Invalid(WRONG, [FieldError("mix", f"there is no price for {product}; set one first")])
        costs[product], sources[product] = listed[product].price_e4_per_l, listed[product].source
    prices = replace(frozen.prices, role_rate_e4_per_hour=rates, product_e4_per_l=costs, product_source=sources)
    return prices, [*added_roles, *needed]


def _notes(estimate: Estimate, frozen: EstimateInputs, day: CrewDay, told: Told, priced: list[str]) -> Iterator[str]:
    roles = frozen.prices.skill_role
    asked_for = sorted({roles[step["skill"]] for step in told["steps"] if step["hours"] and step["skill"] in roles})
    for role in asked_for:
        if role != convert.WHOLE_CREW and not day.people.get(role):
            yield f"The work needs a person of the role {role}, and this crew has none: add one before it starts."
    hot = day.air_temperature_f is not None and day.air_temperature_f >= HEAT_FROM_F
    if day.new_workers + day.returning_workers and not hot:
        yield f"New and returning workers change the figures only in heat: from an air temperature of {HEAT_FROM_F} °F."
    if priced:
        yield f"Priced as of the day of the trial, since the estimate had no price for it: {', '.join(priced)}."
    yield from _other_arithmetic(estimate, frozen)


def _other_arithmetic(estimate: Estimate, frozen: EstimateInputs) -> Iterator[str]:
    """Said where the estimate is so old that its own inputs give other figures now: then not all of the difference is
    that of the conditions."""
    now = _told(frozen)
    hours, cents = now["field_person_hours"]["likely"], now["money"]["total_cents"]
    same = hours is not None and math.isclose(hours, estimate.hours_likely, rel_tol=UP_TO_SHARE)
    if not same or cents != estimate.total_cents:
        figures = "no figures" if hours is None else f"{hours:,.1f} field hours and ${cents / 100:,.2f}"
        yield (
            "This estimate was made by an earlier version of the arithmetic. Unchanged it would now come to "
            f"{figures}; the rest of the difference is that of the conditions."
        )


KEPT = tuple(field.name for field in fields(Figures) if field.name != "tank_loads")


def figures_of(estimate: Estimate) -> Figures:
    loads = estimate.result.get("materials", {}).get("tank_loads")
    return Figures(**{name: getattr(estimate, name) for name in KEPT}, tank_loads=loads)


def _figures(told: Told) -> Figures:
    day, hours, money, used = told["crew_day"], told["field_person_hours"], told["money"], told["materials"]
    return Figures(
        person_hours=hours["likely"],
        **{name: day[name] for name in ("paid_person_hours", "crew_hours", "crew_days")},
        **{f"hours_{name}": hours[name] for name in ("low", "likely", "high", "mean")},
        **{f"{name}_cents": money[f"{name}_cents"] for name in ("labor", "material", "equipment", "mileage", "total")},
        cost_low_cents=money["low_cents"],
        cost_high_cents=money["high_cents"],
        contingency_cents=money["contingency_cents"],
        **{name: used[name] for name in ("treated_area_m2", "spray_volume_l", "tank_loads")},
        products_ul=_products_ul(told),
    )


def _products_ul(told: Told) -> dict[str, int]:
    return {code: round(litres * 1e6) for code, litres in told["materials"]["product_l"].items()}


def _variant(estimate: Estimate, told: Told, mix: Mix | None) -> Estimate:
    variant = copy(estimate)
    variant.inputs = {**estimate.inputs, "mix": asdict(mix) if mix else None}
    variant.mix = mixes().filter(code=mix.code).first() if mix else None
    variant.products_ul = _products_ul(told)
    variant.treated_area_m2 = told["materials"]["treated_area_m2"]
    variant.spray_volume_l = told["materials"]["spray_volume_l"]
    return variant
