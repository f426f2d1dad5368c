"""Whether the weather allows a herbicide use, by the kind of each limit that speaks against it.

A mandatory limit of a label is a "no go" that nobody may let pass. A label's advice and the program's own limits advise
against: a named person may let them pass with a reason. No finding means that nothing known here speaks against it; the
label on the container, local rules and a licensed person decide.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from estimating.label_guard import check_weather
from estimating.labels import Finding, LimitKind, WeatherLimit

# 3 mph: below it wind is variable and an inversion likely (extension advice, where a label is silent).
CALM_M_S = 1.34112
MEASURED = {"wind_m_s": "Wind", "temperature_c": "Temperature"}


@dataclass(frozen=True, kw_only=True)
class SprayReading:
    """What was measured and seen on site; None: not, which counts against a limit that asks for it.

    `inversion_signs`: ground fog or smoke that lies in layers, a clear calm evening or early morning.
    """

    air_temperature_c: float | None = None
    wind_m_s: float | None = None
    gust_m_s: float | None = None
    inversion_signs: bool | None = None
    rain_expected_hours: float | None = None


@dataclass(frozen=True, kw_only=True)
class SprayLimits:
    """What one product's label says of weather."""

    code: str
    name: str
    weather: tuple[WeatherLimit, ...] = ()
    rain_free_hours: float | None = None


def limits_of_card(card: Mapping[str, Any]) -> tuple[SprayLimits, ...]:
    """The limits of an order's label card (version 1), null edges as none."""
    return tuple(
        SprayLimits(
            code=product["code"],
            name=product["name"],
            weather=tuple(_limit(limit) for limit in product["weather"]),
            rain_free_hours=product["rain_free_hours"],
        )
        for product in card["products"]
    )


def _limit(stored: Mapping[str, Any]) -> WeatherLimit:
    edges = {edge: stored[edge] for edge in ("low", "high") if stored[edge] is not None}
    reference = stored["reference"]
    return WeatherLimit(measure=stored["measure"], kind=LimitKind(stored["kind"]), reference=reference, **edges)


def gate(limits: Iterable[SprayLimits], reading: SprayReading) -> tuple[Finding, ...]:
    """Every limit that stands against the use, in the order of the products. Without products nothing does."""
    products = tuple(limits)
    found = [finding for product in products for finding in _of_product(product, reading)]
    return tuple(dict.fromkeys([*found, *(_of_air(reading) if products else ())]))


def verdict(findings: Iterable[Finding]) -> str:
    """`go`, `advised_against` or `no_go`: the weightiest of the findings decides."""
    kinds = {finding.kind for finding in findings}
    if LimitKind.MANDATORY in kinds:
        return "no_go"
    return "advised_against" if kinds else "go"


def _of_product(product: SprayLimits, reading: SprayReading) -> Iterator[Finding]:
    taken = {"wind_m_s": reading.wind_m_s, "temperature_c": reading.air_temperature_c}
    yield from check_weather(product, "", {name: value for name, value in taken.items() if value is not None})
    if reading.gust_m_s is not None:
        yield from _gusts(product, reading.gust_m_s)
    for limit in product.weather:
        if taken[limit.measure] is None:
            message = f"{MEASURED[limit.measure]} was not measured, and the label of {product.name} sets a limit to it."
            yield _finding("weather-not-measured", message, limit.kind, product=product.code, unit=limit.measure)
    free, expected = product.rain_free_hours, reading.rain_expected_hours
    if free is not None and expected is not None and expected < free:
        message = f"Rain is expected in {expected:g} h; {product.name} needs {free:g} h without."
        figures: dict[str, Any] = {"limit": free, "total": expected, "unit": "h"}
        yield _finding("weather-rain", message, LimitKind.ADVISORY, product=product.code, **figures)


def _gusts(product: SprayLimits, gust_m_s: float) -> Iterator[Finding]:
    """A gust above a limit of wind passes that limit; one below the least wind says nothing."""
    for finding in check_weather(product, "", {"wind_m_s": gust_m_s}):
        if finding.limit is not None and gust_m_s > finding.limit:
            yield replace(finding, code="weather-gust", message=finding.message.replace("Wind", "A gust", 1))


def _of_air(reading: SprayReading) -> Iterator[Finding]:
    """Air that lies in layers carries fine drops far, whatever the label says of wind: common practice."""
    if reading.inversion_signs:
        message = "There are signs of an inversion: spray hangs in still air and drifts far. Wait until it has mixed."
        yield _finding("weather-inversion", message, LimitKind.POLICY)
    elif reading.wind_m_s is not None and reading.wind_m_s < CALM_M_S:
        message = "It is nearly calm: wind turns as it likes, and air may lie in layers."
        figures: dict[str, Any] = {"limit": CALM_M_S, "total": reading.wind_m_s, "unit": "m/s"}
        yield _finding("weather-calm", message, LimitKind.POLICY, **figures)


def _finding(code: str, message: str, kind: LimitKind, *, product: str = "", **figures: Any) -> Finding:
    return Finding(kind=kind, code=code, message=message, rows=(), product=product, **figures)
