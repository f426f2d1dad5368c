"""Weather measured on site, and what the labels of the order or of the mix say of it: worked out here anew, whatever
the tablet showed."""

from typing import Any

from estimating.labels import Finding
from estimating.spray_weather import SprayReading, gate, limits_of_card, verdict
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.label_cards import label_shown, product_card
from orders.workorders.models import WeatherCheck

NO_GO = "no_go"


@writing()
def weather_check_add(*, check: WeatherCheck, stamp: Stamp) -> WeatherCheck:
    """Whoever lets advice or a policy pass is named, with the reason. A mandatory limit cannot be let pass: the name
    does not stand with it."""
    if known := fact_known(check):
        return known
    if check.passed_by and not check.passed_reason:
        raise Invalid("Say why it was let pass.", [FieldError("passed_reason", "is required", code="required")])
    found = weather_findings(check)
    check.findings = [_told(finding) for finding in found]
    check.verdict = verdict(found)
    if check.verdict == NO_GO:
        check.passed_by = check.passed_reason = ""
    return fact_save(check, stamp=stamp)


def weather_findings(check: WeatherCheck) -> tuple[Finding, ...]:
    reading = SprayReading(
        air_temperature_c=check.air_temperature_c,
        wind_m_s=check.wind_m_s,
        gust_m_s=check.gust_m_s,
        inversion_signs=check.inversion_signs,
        rain_expected_hours=check.rain_expected_hours,
    )
    return gate(limits_of_card({"products": _labels(check)}), reading)


def _labels(check: WeatherCheck) -> list[dict[str, Any]]:
    """As the order's crew has them, narrowed to what is in the mix; what the order does not know, as it is today."""
    on_order = {label["code"]: label for label in label_shown(check.order)["products"]} if check.order else {}
    if check.batch is None:
        return list(on_order.values())
    parts = check.batch.parts.select_related("product").order_by("id")
    mixed = {part.product.code: part.product for part in parts if part.product.is_herbicide}
    return [on_order.get(code) or product_card(product, []) for code, product in mixed.items()]


def _told(finding: Finding) -> dict[str, Any]:
    return {
        "kind": str(finding.kind),
        "code": finding.code,
        "words": finding.message,
        "product": finding.product,
        "limit": finding.limit,
        "measured": finding.total,
        "unit": finding.unit,
        "reference": finding.reference,
    }
