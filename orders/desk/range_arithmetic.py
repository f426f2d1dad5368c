"""The arithmetic of an estimate's ranges, contingency and contract price as lines, from the frozen explanation."""

import math
from collections.abc import Mapping
from fractions import Fraction
from statistics import NormalDist
from typing import Any

from estimating.spread import HIGH_Z
from orders.desk.arithmetic import Line
from orders.desk.templatetags.units import digits, percent

Told = Mapping[str, Any]
KINDS = (
    ("shared_log_sd", "the method's rates, shared by all its orders"),
    ("own_log_sd", "this crew on this ground"),
    ("survey_log_sd", "what the survey may have wrong"),
)


def hours_range_lines(told: Told) -> list[Line]:
    """From the log spreads of the kinds of error to low, high and mean hours."""
    hours = told.get("field_person_hours", {})
    if hours.get("likely") is None:
        return []
    spreads = [hours[name] for name, _ in KINDS]
    whole = math.sqrt(math.fsum(spread**2 for spread in spreads))
    likely, spread, z = digits(hours["likely"]), digits(whole), digits(HIGH_Z)
    squares = " + ".join(f"{digits(one)}²" for one in spreads)
    kinds = [Line(name, f"Log spread of {words}", "", digits(hours[name]), "") for name, words in KINDS]
    return [
        *kinds,
        Line("log-sd", "Log spread in all", f"√({squares})", spread, ""),
        Line("hours-low", "Low: 1 in 10 ends below", f"{likely} ÷ e^({z} × {spread})", digits(hours["low"]), "h"),
        Line("hours-high", "High: 1 in 10 ends above", f"{likely} × e^({z} × {spread})", digits(hours["high"]), "h"),
        Line("hours-mean", "Mean", f"{likely} × e^({spread}² ÷ 2)", digits(hours["mean"]), "h"),
    ]


def money_range_lines(told: Told) -> list[Line]:
    """From the bill to low and high, the contingency and the contract price."""
    hours, money = told.get("field_person_hours", {}), told.get("money", {})
    if not money.get("lines") or hours.get("likely") is None:
        return []
    by_hours, by_survey = (_dollars(money, name) for name in ("hours", "survey"))
    whole = math.sqrt(math.fsum(hours[name] ** 2 for name, _ in KINDS))
    return [
        Line("moves-with-hours", "Cost that moves with the hours", "lines of the bill", digits(by_hours), "$"),
        Line("moves-with-survey", "Cost that moves with the survey", "products and bags", digits(by_survey), "$"),
        _point(
            "cost-low", "Low cost", by_hours, by_survey, (whole, hours["survey_log_sd"]), -HIGH_Z, money["low_cents"]
        ),
        _point(
            "cost-high", "High cost", by_hours, by_survey, (whole, hours["survey_log_sd"]), HIGH_Z, money["high_cents"]
        ),
        *_contingency(money, by_hours, by_survey, (whole, hours["survey_log_sd"])),
        *_contract(money),
    ]


def _dollars(money: Told, moves_with: str) -> float:
    """By survey its lines; by hours the rest of the total, whose categories are rounded."""
    survey = sum(
        (Fraction(line["amount_e4"]) for line in money["lines"] if line["moves_with"] == "survey"), Fraction(0)
    )
    if moves_with == "survey":
        return float(survey / 10_000)
    return float(Fraction(money["total_cents"], 100) - survey / 10_000)


def _point(
    key: str, what: str, by_hours: float, by_survey: float, spreads: tuple[float, float], z: float, cents: int
) -> Line:
    whole, survey = (digits(spread) for spread in spreads)
    power = digits(abs(z))
    sign = "−" if z < 0 else ""
    how = f"{digits(by_hours)} × e^({sign}{power} × {whole}) + {digits(by_survey)} × e^({sign}{power} × {survey})"
    return Line(key, what, how, f"{cents / 100:,.2f}", "$")


def _contingency(money: Told, by_hours: float, by_survey: float, spreads: tuple[float, float]) -> list[Line]:
    level = money.get("contingency_level", 0.5)
    if level <= 0.5:
        return []
    total, set_aside = money["total_cents"], money["contingency_cents"]
    what = f"Cost that {percent(level)} of such jobs stay under"
    point = _point("cost-level", what, by_hours, by_survey, spreads, NormalDist().inv_cdf(level), total + set_aside)
    how = f"{(total + set_aside) / 100:,.2f} − {total / 100:,.2f}"
    return [point, Line("contingency", "Contingency", how, f"{set_aside / 100:,.2f}", "$")]


def _contract(money: Told) -> list[Line]:
    contract = money.get("contract")
    if not contract:
        return []
    least, price = (digits(contract[name] / 10_000) for name in ("minimum_e4", "price_e4_per_ha"))
    how = f"the larger of {least} and {contract['treated_area_m2']:,} m² ÷ 10,000 × {price} per ha"
    return [Line("contract", "A contractor would ask", how, f"{money['contract_cents'] / 100:,.2f}", "$")]
