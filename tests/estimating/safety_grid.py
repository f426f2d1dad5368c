"""Readings and what they come to, as plain values: what the tablet's own arithmetic is compared with."""

from dataclasses import asdict
from itertools import product
from typing import Any

from estimating.cold import cold_risk
from estimating.crewday import ACCLIMATIZATION, WORK_MINUTES, acclimatized_hours, work_minutes_per_hour
from estimating.errors import WorkStopped
from estimating.heat import heat_risk
from estimating.spray_weather import SprayReading, gate, limits_of_card, verdict

HEAT_C = (-5.0, 10.0, 23.9, 26.7, 27.5, 30.0, 30.6, 32.2, 35.0, 37.8, 44.0)
HUMIDITY = (0.0, 5.0, 12.9, 13.0, 40.0, 60.0, 85.0, 90.0, 100.0)
COLD_C = (-30.0, -20.0, -12.2, -5.0, 0.0, 4.4, 10.0, 10.1)
WIND_M_S = (0.0, 1.0, 1.35, 2.2, 4.5, 6.8, 9.0, 20.0)
WORK_F = (80.0, 90.0, 94.0, 94.4, 95.0, 99.5, 104.0, 107.0, 108.0, 110.9, 111.0, 120.0)
LIMITS = (
    {"measure": "wind_m_s", "low": None, "high": 6.7, "kind": "label-mandatory", "reference": "section 2"},
    {"measure": "wind_m_s", "low": 0.9, "high": 4.5, "kind": "label-advisory", "reference": "section 2"},
    {"measure": "temperature_c", "low": 4.4, "high": 29.4, "kind": "program-policy", "reference": "policy"},
)
READINGS: dict[str, tuple[Any, ...]] = {
    "wind_m_s": (None, 0.5, 2.0, 5.0, 7.0),
    "gust_m_s": (None, 6.0, 9.0),
    "air_temperature_c": (None, 2.0, 15.0, 33.0),
    "inversion_signs": (None, False, True),
    "rain_expected_hours": (None, 2.0, 24.0),
}


def safety_grid() -> dict[str, list[dict[str, Any]]]:
    """Each part a list of {"given": …, "found": …}; JSON-able."""
    return {"heat": _heat(), "cold": _cold(), "work_rest": _work_rest(), "new_to_heat": _new(), "spray": _spray()}


def _heat() -> list[dict[str, Any]]:
    names = ("air_temperature_c", "relative_humidity_percent", "full_sun", "strenuous")
    values = product(HEAT_C, HUMIDITY, (False, True), (False, True))
    asked: list[dict[str, Any]] = [dict(zip(names, one, strict=True)) for one in values]
    return [{"given": given, "found": _plain(heat_risk(**given))} for given in asked]


def _cold() -> list[dict[str, Any]]:
    names = ("air_temperature_c", "wind_m_s")
    asked = (dict(zip(names, one, strict=True)) for one in product(COLD_C, WIND_M_S))
    return [{"given": given, "found": _plain(cold_risk(**given))} for given in asked]


def _plain(risk: Any) -> dict[str, Any]:
    return {**asdict(risk), "actions": list(risk.actions)}


def _work_rest() -> list[dict[str, Any]]:
    """0 minutes: work stops."""
    return [
        {"given": {"air_temperature_f": air_f, "workload": load}, "found": _minutes(air_f, load)}
        for air_f, load in product(WORK_F, WORK_MINUTES)
    ]


def _minutes(air_f: float, load: str) -> int:
    try:
        return work_minutes_per_hour(air_f, load)
    except WorkStopped:
        return 0


def _new() -> list[dict[str, Any]]:
    return [
        {"given": {"day_in_heat": day, "person": person}, "found": acclimatized_hours(1.0, day, person)}
        for person, day in product(ACCLIMATIZATION, range(1, 7))
    ]


def _spray() -> list[dict[str, Any]]:
    limits = [{"product": "g", "name": "Invented G", **limit} for limit in LIMITS]
    label = {"code": "g", "name": "Invented G", "weather": LIMITS, "rain_free_hours": 6.0}
    products = limits_of_card({"products": [label]})
    rows = []
    for values in product(*READINGS.values()):
        reading = dict(zip(READINGS, values, strict=True))
        found = gate(products, SprayReading(**reading))
        said = sorted({(finding.code, str(finding.kind)) for finding in found})
        given = {"weather_limits": limits, "rain_free_hours": 6.0, "reading": reading}
        rows.append({"given": given, "found": {"findings": [list(one) for one in said], "verdict": verdict(found)}})
    return rows
