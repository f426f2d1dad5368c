"""The label guard: which proposed uses of products must not, or should not, be ordered, and why.

No finding means that nothing known here speaks against the use; the label on the container, local rules and a licensed
person decide. Mandatory limits cannot be overridden.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Protocol

from estimating.columns import Known
from estimating.label_sums import ROUNDING, Ground, cap_findings, grounds_by_patch, grounds_complete
from estimating.labels import Application, Finding, GuardPolicy, LimitKind, ProductLabel, WeatherLimit
from estimating.units import SQUARE_METRES_PER_HECTARE

Check = Callable[[Application, ProductLabel, GuardPolicy], Iterator[Finding]]


def _finding(use: Application, code: str, message: str, kind: LimitKind = LimitKind.MANDATORY, **more: Any) -> Finding:
    rows = (use.row,)
    return Finding(kind=kind, code=code, message=message, rows=rows, proposed=rows, product=use.product, **more)


def label_gaps(label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """What is missing before any use of the product can be judged: reference, review, ingredients, caps."""

    def gap(code: str, message: str, kind: LimitKind = LimitKind.MANDATORY, ingredient: str = "") -> Finding:
        return Finding(kind=kind, code=code, message=message, rows=(), product=label.code, ingredient=ingredient)

    if not label.label_reference.strip() or not label.registration_number.strip():
        yield gap("no-label-reference", f"{label.name} has no label reference or registration number.")
    if label.reviewed_on is None:
        yield gap("label-not-reviewed", f"The label of {label.name} has no review date.")
    elif (policy.today - label.reviewed_on).days > policy.review_days:
        day = f"{label.reviewed_on:%b} {label.reviewed_on.day}, {label.reviewed_on.year}"
        message = f"The label of {label.name} was last reviewed on {day}: review it again."
        yield gap("review-too-old", message, LimitKind.POLICY)
    if not label.ingredients:
        message = f"{label.name} has no active ingredient entered: nothing could be summed against its label."
        yield gap("ingredients-missing", message)
    for code, ingredient, message in _cap_gaps(label):
        yield gap(code, message, ingredient=ingredient)


def _cap_gaps(label: ProductLabel) -> Iterator[tuple[str, str, str]]:
    """Each ingredient needs a yearly cap with its reference, or the label's own statement that it sets none."""
    for ingredient in sorted(label.caps_without_reference):
        message = f"A cap of {label.name} for {ingredient} names no place on the label: enter its reference first."
        yield "cap-without-reference", ingredient, message
    capped = {cap.ingredient for cap in label.caps if cap.period == "year" and not cap.method} | label.no_annual_cap
    for ingredient in label.ingredients:
        if ingredient not in capped:
            message = f"{label.name} has no yearly cap for {ingredient}: enter the label's figure first."
            yield "cap-missing", ingredient, message


def label_complete(use: Application, label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """The gaps of the label, said of the use."""
    for gap in label_gaps(label, policy):
        yield replace(gap, rows=(use.row,), proposed=(use.row,))


def use_allowed(use: Application, label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """Registered in the state, and allowed by the label for the method."""
    del policy
    if use.state not in label.states:
        yield _finding(use, "not-registered", f"{label.name} is not entered as registered in {use.state}.")
    if use.method not in label.uses:
        yield _finding(use, "use-not-allowed", f"The label of {label.name} does not allow {use.method}.")


def strength_allowed(use: Application, label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """Percent by volume at most the label's figure for the method."""
    del policy
    limit = label.max_percent_vv.get(use.method)
    if limit is not None and use.percent_vv is not None and use.percent_vv > limit:
        message = f"{use.percent_vv:g}% of {label.name}, but its label allows {limit:g}% for {use.method}."
        yield _finding(use, "mix-too-strong", message, limit=limit, total=use.percent_vv, unit="% v/v")


def rate_allowed(use: Application, label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """Litres of product on each treated hectare in one application at most the label's figure for the method."""
    del policy
    limit = label.max_l_per_ha.get(use.method)
    if limit is None:
        return
    rate_l_per_ha = use.product_l / (use.treated_area_m2 / SQUARE_METRES_PER_HECTARE)
    if rate_l_per_ha > limit * (1 + ROUNDING):
        message = f"{rate_l_per_ha:.2f} L/ha of {label.name}, but its label allows {limit:g} L/ha for {use.method}."
        yield _finding(use, "rate-too-high", message, limit=limit, total=rate_l_per_ha, unit="L/ha")


def trees_spared(use: Application, label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """No soil-active product within the rooting of desirable trees; not knowing is not a yes."""
    del policy
    if not label.soil_active or use.desirable_tree_roots == Known.NO:
        return
    if use.desirable_tree_roots == Known.YES:
        message = f"{label.name} acts through the soil, and desirable trees root on this patch."
        yield _finding(use, "soil-active-near-trees", message)
    else:
        message = (
            f"unknown: survey first. {label.name} acts through the soil; the survey does not say if trees root here."
        )
        yield _finding(use, "tree-roots-unknown", message)


def water_spared(use: Application, label: ProductLabel, policy: GuardPolicy) -> Iterator[Finding]:
    """The label's own distance to water, and within the program's distance only products with an aquatic label.

    In the water itself a label that is not aquatic is a mandatory limit; the program's distance is its own policy.
    """
    distance_m, least_m = use.distance_to_water_m, label.least_water_distance_m
    if distance_m is None:
        if not label.aquatic or least_m > 0:
            message = f"unknown: survey first. The distance to water is not known, and {label.name} depends on it."
            kind = LimitKind.MANDATORY if least_m > 0 else LimitKind.POLICY
            yield _finding(use, "water-distance-unknown", message, kind)
        return
    if distance_m < least_m:
        message = f"Water is {distance_m:g} m away; the label of {label.name} asks for more."
        yield _finding(use, "too-near-water", message, limit=least_m, total=distance_m, unit="m")
    if distance_m < policy.water_distance_m and not label.aquatic:
        message = f"Water is {distance_m:g} m away; nearer than {policy.water_distance_m:g} m needs an aquatic label."
        kind = LimitKind.POLICY if distance_m > 0 else LimitKind.MANDATORY
        figures = {"limit": policy.water_distance_m, "total": distance_m, "unit": "m"}
        yield _finding(use, "aquatic-label-needed", message, kind, **figures)


CHECKS: tuple[Check, ...] = (
    label_complete,
    use_allowed,
    strength_allowed,
    rate_allowed,
    trees_spared,
    water_spared,
)


def _labels_known(
    proposed: Sequence[Application],
    prior: Sequence[Application],
    labels: Mapping[str, ProductLabel],
    grounds: Sequence[Ground],
) -> Iterator[Finding]:
    """Every product needs its label data; an earlier use that cannot be counted blocks new ones on its ground."""
    blind = [earlier for earlier in prior if earlier.uncounted or earlier.product not in labels]
    for use in proposed:
        if use.product not in labels:
            yield _finding(use, "no-label", f"There is no label data for product {use.product}.")
        if use.uncounted:
            yield _finding(use, "use-uncounted", f"{use.row}: {use.uncounted}")
        for earlier in blind:
            if any(use.row in ground and earlier.row in ground for ground in grounds):
                why = earlier.uncounted or "without its label data it cannot be counted."
                message = f"{earlier.row} used {earlier.product} here: {why}"
                yield _finding(use, "earlier-use-uncounted", message)


def check_applications(
    proposed: Sequence[Application],
    prior: Sequence[Application],
    labels: Mapping[str, ProductLabel],
    policy: GuardPolicy,
    grounds: Iterable[Ground] | None = None,
) -> tuple[Finding, ...]:
    """All findings about the proposed uses, given what was applied or is on open orders.

    `grounds`: each a set of rows of uses that hit one piece of ground; a row may be in several. Without them, the uses
    of one patch are one ground. `prior` must not hold the proposed uses themselves. More uses, never fewer findings.
    """
    uses = [*prior, *proposed]
    pieces = grounds_complete(uses, grounds_by_patch(uses) if grounds is None else grounds)
    found = list(_labels_known(proposed, prior, labels, pieces))
    for use in proposed:
        label = labels.get(use.product)
        for check in CHECKS if label else ():
            assert label is not None
            found.extend(check(use, label, policy))
    found.extend(cap_findings(proposed, prior, labels, pieces, policy.seasons))
    return tuple(dict.fromkeys(found))


class WithWeather(Protocol):
    """A label, or what of it speaks of weather."""

    @property
    def code(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def weather(self) -> tuple[WeatherLimit, ...]: ...


def check_weather(label: WithWeather, row: str, measured: Mapping[str, float]) -> tuple[Finding, ...]:
    """Findings about wind (m/s) and temperature (°C) at the time of a use; a measure that was not taken is skipped."""
    found = []
    for limit in label.weather:
        value = measured.get(limit.measure)
        if value is None or limit.low <= value <= limit.high:
            continue
        edge = limit.low if value < limit.low else limit.high
        name, unit = ("Wind", "m/s") if limit.measure == "wind_m_s" else ("Temperature", "°C")
        found.append(
            Finding(
                kind=limit.kind,
                code=f"weather-{limit.measure.split('_')[0]}",
                message=f"{name} of {value:g} {unit} is outside what the label of {label.name} says ({edge:g} {unit}).",
                rows=(row,),
                proposed=(row,),
                product=label.code,
                limit=edge,
                total=value,
                unit=unit,
                reference=limit.reference,
            )
        )
    return tuple(found)


def blocking(findings: Iterable[Finding], overridden: Iterable[tuple[str, str]]) -> tuple[Finding, ...]:
    """Findings that still stand in the way; `overridden` holds (code, row) that a named person let pass with a reason.

    Mandatory findings always stand, overridden or not. An override speaks for the proposed uses of a sum; the earlier
    ones behind it are done, or were let pass on their own order.
    """
    passed = set(overridden)
    return tuple(
        finding
        for finding in findings
        if not (finding.overridable and all((finding.code, row) in passed for row in finding.proposed or finding.rows))
    )
