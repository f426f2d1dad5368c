"""A product's label in plain words: each limit with its figure, whose it is, who may let it pass, where it stands."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from estimating.label_guard import label_gaps
from estimating.labels import Finding, GuardPolicy
from estimating.units import (
    GRAMS_PER_LITRE_PER_LB_PER_GALLON,
    METRES_PER_FOOT,
    METRES_PER_MILE,
    SECONDS_PER_HOUR,
    fahrenheit,
    gallons_per_acre,
    pounds_per_acre,
)
from orders.supplies.convert import product_label
from orders.supplies.models import LabelCap, LabelUse, LabelWeather, Product

KINDS = {
    "label-mandatory": "Label, mandatory",
    "label-advisory": "Label, advice",
    "program-policy": "Program policy",
}
NOBODY = "Nobody"
WITH_REASON = "Coordinator, administrator or pesticide supervisor, by name and with the reason"
AREAS = {"treated": "treated area", "infested": "infested area", "gross": "gross area of the patch"}
YEARS = {"calendar": "in a calendar year", "12 months": "in any 12 months", "season": "in a season"}
QUARTS_PER_GALLON = 4
# Where on a label what the guard misses is mostly found (common practice; the label at hand decides).
PLACES = {
    "no-label-reference": "The registration number stands on the front of the container; keep the whole label as a "
    "document and say here where it is.",
    "label-not-reviewed": "The pesticide supervisor, or another licensed person, compares this page with the label.",
    "review-too-old": "Look whether the maker's label has a newer version, then compare again.",
    "ingredients-missing": "In the ingredient statement on the front; the pounds of acid equivalent a gallon stand in "
    "the small print below it.",
    "cap-missing": "Under use restrictions or use precautions: the most in a year, mostly as pounds of acid equivalent "
    "an acre. Where the label says that it sets none, name the ingredient under that.",
    "cap-without-reference": "Name the section or page in which the figure stands.",
}


@dataclass(frozen=True)
class Limit:
    """One row of the table of limits."""

    what: str
    figure: str
    kind: str
    may_pass: str
    reference: str


@dataclass(frozen=True)
class UseLine:
    """A method that the label allows, with its own strength and rate."""

    method: str
    percent: str
    rate: str
    again: str
    reference: str


def strengths(product: Product) -> list[str]:
    return [
        f"{part.ingredient}: {part.ae_g_per_l:g} g/L "
        f"({part.ae_g_per_l / GRAMS_PER_LITRE_PER_LB_PER_GALLON:.2f} lb/gal), as acid equivalent"
        for part in product.ingredients.all()
    ]


def uses(product: Product, names: dict[str, str]) -> list[UseLine]:
    return [
        UseLine(
            method=names.get(use.method, use.method),
            percent="" if use.max_percent_vv is None else f"{use.max_percent_vv:g}%",
            rate="" if use.max_l_per_ha is None else _volume_rate(use.max_l_per_ha),
            again=_again(use),
            reference=use.reference,
        )
        for use in product.label_uses.all()
    ]


def _again(use: LabelUse) -> str:
    """How soon and how often the same ground may be treated again."""
    days = "" if use.least_days_between is None else f"{use.least_days_between} days apart"
    times = "" if use.most_uses_a_year is None else f"{use.most_uses_a_year} a year at most"
    return ", ".join(filter(None, [days, times]))


def limits(product: Product, names: dict[str, str]) -> list[Limit]:
    caps = [_cap(cap, names) for cap in product.caps.all()]
    return [*caps, *(_weather(limit) for limit in product.label_weather.all()), *_own_limits(product)]


def gaps(product: Product, today: date) -> list[Finding]:
    """What the label guard would refuse in any use of it."""
    return list(label_gaps(product_label(product), GuardPolicy(today=today))) if product.is_herbicide else []


def _volume_rate(l_per_ha: float) -> str:
    return f"{gallons_per_acre(l_per_ha) * QUARTS_PER_GALLON:.2f} qt/acre ({l_per_ha:g} L/ha)"


def _may_pass(kind: str) -> str:
    return NOBODY if kind == "label-mandatory" else WITH_REASON


def _cap(cap: LabelCap, names: dict[str, str]) -> Limit:
    when = "in one application" if cap.period == "application" else YEARS[cap.year_basis]
    by = f", by {names.get(cap.method, cap.method)}" if cap.method else ""
    rate = f"{pounds_per_acre(cap.kg_ae_per_ha):.2f} lb ae/acre ({cap.kg_ae_per_ha:.3f} kg ae/ha)"
    return Limit(
        what=f"Most {cap.ingredient} {when}{by}",
        figure=f"{rate} of {AREAS[cap.area_basis]}",
        kind=KINDS[cap.kind],
        may_pass=_may_pass(cap.kind),
        reference=cap.reference,
    )


def _weather(limit: LabelWeather) -> Limit:
    what, told = ("Wind", wind_words) if limit.measure == "wind_m_s" else ("Air temperature", temperature_words)
    low, high = (None if edge is None else told(edge) for edge in (limit.low, limit.high))
    one_side = f"at least {low}" if low else f"at most {high}"
    figure = f"{low} to {high}" if low and high else one_side
    return Limit(what, figure, KINDS[limit.kind], _may_pass(limit.kind), limit.reference)


def wind_words(m_s: float) -> str:
    return f"{m_s * SECONDS_PER_HOUR / METRES_PER_MILE:.0f} mph ({m_s:.1f} m/s)"


def temperature_words(celsius: float) -> str:
    return f"{fahrenheit(celsius):.0f} °F ({celsius:.0f} °C)"


def _distance(meters: float) -> str:
    return f"{meters / METRES_PER_FOOT:.0f} ft ({meters:g} m)"


def _own_limits(product: Product) -> Iterator[Limit]:
    label = (KINDS["label-mandatory"], NOBODY, product.label_reference)
    if product.soil_active:
        yield Limit("Wanted trees", "never where their roots reach; not known: survey first", *label)
    if product.least_water_distance_m:
        yield Limit("Distance to water", f"at least {_distance(product.least_water_distance_m)}", *label)
    if product.is_herbicide and not product.aquatic:
        yield Limit("Water", "not in water: the label is not for aquatic use", *label)
        yield Limit(
            "Near water",
            f"at least {_distance(GuardPolicy(today=date.min).water_distance_m)} away",
            KINDS["program-policy"],
            WITH_REASON,
            "Program policy",
        )
