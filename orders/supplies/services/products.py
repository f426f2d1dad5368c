"""Products with the facts of their labels: added, read anew, reviewed."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import date
from typing import Any

from django.conf import settings
from django.db import models

from estimating.labels import SYNONYMS
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.labels import CapFacts, LabelFacts, label_facts
from orders.supplies.models import LabelCap, LabelUse, LabelWeather, Product, ProductIngredient
from orders.supplies.services.parts import with_parts_add, with_parts_edit
from orders.supplies.services.use import product_needed_refuse

LABEL_LISTS = {"ingredients": "ingredients", "uses": "label_uses", "caps": "caps", "weather": "label_weather"}


@writing()
def product_add(
    *,
    stamp: Stamp,
    code: str,
    name: str,
    label: LabelFacts,
    registration_number: str = "",
    is_herbicide: bool = True,
) -> Product:
    """Add a product with the facts of its label.

    A herbicide whose label lacks a reference, a review date or a cap is kept here all the same: the label guard refuses
    it where it would be used, and says what is missing.
    """
    told = {"name": name, "registration_number": registration_number, "is_herbicide": is_herbicide}
    product = Product(code=code, **told, **_columns(label))
    found, parts = _parts_checked(product, label)
    found.errors += _review_check(label, stamp).errors
    every = [row for rows in parts.values() for row in rows]
    return with_parts_add(product, every, stamp=stamp, verb="product_add", found=found, facts=asdict(label))


@writing()
def product_edit(
    *,
    product: Product,
    name: str,
    registration_number: str,
    is_herbicide: bool,
    label: LabelFacts,
    is_active: bool | None = None,
    expected: int,
    stamp: Stamp,
) -> Product:
    """Replace what is kept of a product's label by what was read from the label anew.

    Orders that were issued keep the label that they were issued under. Facts that differ are not reviewed until
    somebody has looked at them: their review has a later day than the one before, or there is none, and the label
    guard refuses every use until there is.
    """
    if is_active is False:
        product_needed_refuse(product)
    told: dict[str, Any] = {"name": name, "registration_number": registration_number, "is_herbicide": is_herbicide}
    told |= {} if is_active is None else {"is_active": is_active}
    before = _facts(product)
    found = _review_check(label, stamp)
    _newer_check(found, product, label, _facts(product, label, **told))
    return _product_put(product, told, label, before, found, expected, stamp, "product_edit")


@writing()
def product_review(*, product: Product, reviewed_on: date, reviewed_by: str, expected: int, stamp: Stamp) -> Product:
    """Keep that a licensed person compared what stands here with the label, and found it so."""
    label = replace(label_facts(product), reviewed_on=reviewed_on, reviewed_by=reviewed_by)
    found = _review_check(label, stamp)
    is_older = product.reviewed_on is not None and reviewed_on < product.reviewed_on
    found.need(not is_older, "reviewed_on", f"It was reviewed later than that: on {product.reviewed_on}.")
    told = {name: getattr(product, name) for name in ("name", "registration_number", "is_herbicide")}
    return _product_put(product, told, label, _facts(product), found, expected, stamp, "product_review")


def _product_put(
    product: Product,
    told: Mapping[str, Any],
    label: LabelFacts,
    before: dict[str, Any],
    found: Findings,
    expected: int,
    stamp: Stamp,
    verb: str,
) -> Product:
    proposed = Product.objects.get(pk=product.pk)
    values = {**told, **_columns(label)}
    for name, value in values.items():
        setattr(proposed, name, value)
    wrong, parts = _parts_checked(proposed, label)
    found.errors += wrong.errors
    found.row(proposed)
    found.refuse("The product was not changed.")
    return with_parts_edit(
        product,
        {LABEL_LISTS[of]: rows for of, rows in parts.items()},
        values=values,
        before=before,
        after=_facts(product, label, **told),
        expected=expected,
        stamp=stamp,
        verb=verb,
    )


def _review_check(label: LabelFacts, stamp: Stamp) -> Findings:
    """A review has a day that has come, and somebody who answers for it."""
    found, today = Findings(), stamp.local_date(settings.PROGRAM_TIME_ZONE)
    by = label.reviewed_by.strip()
    found.need(label.reviewed_on is None or bool(by), "reviewed_by", "Say who compared this with the label.")
    found.need(label.reviewed_on is not None or not by, "reviewed_on", "Say on which day it was reviewed.")
    come = label.reviewed_on is None or label.reviewed_on <= today
    found.need(come, "reviewed_on", f"{label.reviewed_on} has not come yet.")
    return found


def _newer_check(found: Findings, product: Product, label: LabelFacts, after: dict[str, Any]) -> None:
    """Facts that differ do not stand under the review of those before."""
    before = _facts(product)
    beside = {"reviewed_on", "reviewed_by", "is_active"}
    differs = any(before[name] != after[name] for name in before if name not in beside)
    if differs and label.reviewed_on is not None:
        is_new = product.reviewed_on is None or label.reviewed_on > product.reviewed_on
        message = "The facts differ from those reviewed: give the day of a new review, or none until it is made."
        found.need(is_new, "reviewed_on", message)


def _facts(product: Product, label: LabelFacts | None = None, **told: Any) -> dict[str, Any]:
    """What is kept of a product, with its label, as the record of changes has it."""
    own = {name: getattr(product, name) for name in ("name", "registration_number", "is_herbicide", "is_active")}
    return own | told | plain_label(label or label_facts(product))


def plain_label(label: LabelFacts) -> dict[str, Any]:
    """Lists in an order of their own, so that the same label is the same whoever typed it."""
    facts = asdict(label)
    facts |= {name: sorted(facts[name]) for name in ("states", "no_annual_cap")}
    facts["uses"] = sorted(facts["uses"], key=lambda use: str(use["method"]))
    facts["ingredients"] = dict(sorted(facts["ingredients"].items()))
    for name in ("caps", "weather"):
        facts[name] = sorted(facts[name], key=str)
    return facts


def _columns(label: LabelFacts) -> dict[str, Any]:
    """What of a label stands in the product's own row."""
    columns = {name: value for name, value in asdict(label).items() if name not in LABEL_LISTS}
    return columns | {name: list(getattr(label, name)) for name in ("states", "no_annual_cap")}


def _parts_checked(product: Product, label: LabelFacts) -> tuple[Findings, dict[str, list[models.Model]]]:
    parts, found = _label_parts(product, label), Findings()
    _label_check(found, label, product.is_herbicide)
    for of, rows in parts.items():
        for number, row in enumerate(rows, start=1):
            found.part(row, of=of, number=number, parent="product")
    return found, parts


def _label_parts(product: Product, label: LabelFacts) -> dict[str, list[models.Model]]:
    """The rows that a label is made of, by the list that they stand in."""
    return {
        "ingredients": [
            ProductIngredient(product=product, ingredient=name, ae_g_per_l=amount)
            for name, amount in label.ingredients.items()
        ],
        "uses": [LabelUse(product=product, **asdict(use)) for use in label.uses],
        "caps": [LabelCap(product=product, **_cap_columns(cap)) for cap in label.caps],
        "weather": [LabelWeather(product=product, **asdict(limit)) for limit in label.weather],
    }


def _cap_columns(cap: CapFacts) -> dict[str, Any]:
    """Documents may still say a basis by the word that was used before."""
    words = {name: SYNONYMS.get(getattr(cap, name), getattr(cap, name)) for name in ("area_basis", "year_basis")}
    return asdict(cap) | words


def _label_check(found: Findings, label: LabelFacts, is_herbicide: bool) -> None:
    named = bool(label.ingredients) or not is_herbicide
    found.need(named, "ingredients", "A herbicide names its active ingredients.")
    for name, ae_g_per_l in label.ingredients.items():
        found.need(ae_g_per_l > 0, "ingredients", f"{name}: grams a liter must be more than 0.")
    _uses_check(found, label)
    methods = [use.method for use in label.uses]
    for limit in label.weather:
        found.need(_in_order(limit.low, limit.high), "weather", f"{limit.measure}: give a limit, low before high.")
    for cap in label.caps:
        found.need(bool(cap.reference.strip()), "caps", f"{cap.ingredient}: name where the label says so.")
        known = not cap.method or cap.method in methods
        found.need(known, "caps", f"{cap.method} is none of the uses that the label allows.")
        held = cap.ingredient in label.ingredients
        found.need(held, "caps", f"{cap.ingredient} is none of the product's ingredients.")
        found.need(cap.kg_ae_per_ha > 0, "caps", f"{cap.ingredient}: a cap must be more than 0 kg/ha.")


def _uses_check(found: Findings, label: LabelFacts) -> None:
    methods = [use.method for use in label.uses]
    found.need(len(set(methods)) == len(methods), "uses", "A method stands here twice.")
    for use in label.uses:
        right = use.max_percent_vv is None or 0 < use.max_percent_vv <= 100
        found.need(right, "uses", f"{use.method}: percent must be more than 0 and at most 100.")
        right = use.max_l_per_ha is None or use.max_l_per_ha > 0
        found.need(right, "uses", f"{use.method}: liters a hectare must be more than 0.")
        right = use.most_uses_a_year is None or use.most_uses_a_year >= 1
        found.need(right, "uses", f"{use.method}: uses a year must be 1 or more.")


def _in_order(low: float | None, high: float | None) -> bool:
    return (low is not None or high is not None) and (low is None or high is None or low <= high)
