"""What was done outside a mandatory limit of a label. It cannot be let pass: it is recorded and told at once."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from orders.supplies.amounts import MILLIGRAMS, small_unit
from orders.workorders.models import Application, BatchPart, WeatherCheck

MANDATORY = "label-mandatory"
UL_PER_L, M2_PER_HA = 1_000_000, 10_000
# Rounding on the way from a typed figure must not make a deviation: a thousandth, our own choice.
SLACK = 1.001


@dataclass(frozen=True)
class Deviation:
    """`code`: weather, strength, rate or method. `product`: its code, where it is of one."""

    code: str
    message: str
    product: str = ""

    def as_dict(self) -> dict[str, str]:
        return {"code": self.code, "message": self.message, "product": self.product}


def deviations_of(
    application: Application, checks: Iterable[WeatherCheck], card: Mapping[str, Any]
) -> tuple[Deviation, ...]:
    """By the weather measured for it, and by the strengths and rates of the label card that the order carries."""
    weather = [Deviation("weather", *told) for check in checks for told in _mandatory(check)]
    return (*dict.fromkeys(weather), *_of_label(application, card))


def _mandatory(check: WeatherCheck) -> Iterator[tuple[str, str]]:
    for finding in check.findings:
        if finding.get("kind") == MANDATORY:
            yield str(finding.get("words", "")), str(finding.get("product", ""))


def _of_label(application: Application, card: Mapping[str, Any]) -> Iterator[Deviation]:
    method = application.prescription.method.code if application.prescription else None
    labels = {product["code"]: product for product in card.get("products", ())}
    for part in application.batch.parts.select_related("product").order_by("id"):
        label = labels.get(part.product.code)
        if label is not None and part.product.is_herbicide and method is not None:
            yield from _of_part(application, part, label, method)


def _of_part(application: Application, part: BatchPart, label: Mapping[str, Any], method: str) -> Iterator[Deviation]:
    name, code = part.product.name, part.product.code
    use = next((row for row in label.get("uses", ()) if row["method"] == method), None)
    if use is None:
        yield Deviation("method", f"{name}: its label does not allow this method ({method}).", code)
        return
    if small_unit(part.entered_unit) == MILLIGRAMS:
        return  # what is weighed has no percent by volume and no liters a hectare
    percent = part.amount / application.batch.volume_ul * 100
    if use["max_percent_vv"] is not None and percent > use["max_percent_vv"] * SLACK:
        yield Deviation("strength", f"{name}: {percent:.2f}% of the mix; at most {use['max_percent_vv']:g}%.", code)
    rate = _l_per_ha(application, percent)
    if use["max_l_per_ha"] is not None and rate is not None and rate > use["max_l_per_ha"] * SLACK:
        yield Deviation("rate", f"{name}: {rate:.2f} L/ha; at most {use['max_l_per_ha']:g} L/ha.", code)


def _l_per_ha(application: Application, percent: float) -> float | None:
    if not application.area_m2:
        return None
    return application.volume_ul * percent / 100 / UL_PER_L / application.area_m2 * M2_PER_HA
