"""Products and their labels, mixes, prices, and stock by lot."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID

from django.db import models

from estimating.labels import SYNONYMS
from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid
from orders.common.rows import Findings, plain_values, row_add, row_edit, row_facts
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.amounts import ENTRY_UNITS, MICROLITERS, small_amount, small_unit
from orders.supplies.labels import CapFacts, LabelFacts, PartFacts
from orders.supplies.models import (
    Equipment,
    LabelCap,
    LabelUse,
    LabelWeather,
    Mix,
    MixPart,
    Price,
    Product,
    ProductIngredient,
    StockLot,
    StockMovement,
)
from orders.supplies.selectors import lot_amount

PRICE_UNITS = {
    "product": "L",
    "bag": "each",
    "mileage": "mile",
    "equipment": "hour",
    "fuel": "L",
    "blade": "each",
    "contract": "ha",
}
OWN_CODES = frozenset({"bag", "mileage", "fuel", "blade"})  # kinds of which there is one thing alone
LABEL_LISTS = ("ingredients", "uses", "caps", "weather")
TAKES = {"use", "write_off"}
NEEDS_REASON = {"write_off", "count"}
WithParts = TypeVar("WithParts", Product, Mix)


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
    columns = asdict(label)
    for name_of_list in LABEL_LISTS:
        columns.pop(name_of_list)
    columns |= {name: list(getattr(label, name)) for name in ("states", "no_annual_cap")}
    product = Product(
        code=code, name=name, registration_number=registration_number, is_herbicide=is_herbicide, **columns
    )
    parts = _label_parts(product, label)
    found = Findings()
    _label_check(found, label, is_herbicide)
    for of, rows in parts.items():
        for number, row in enumerate(rows, start=1):
            found.part(row, of=of, number=number, parent="product")
    every = [row for rows in parts.values() for row in rows]
    return _with_parts(product, every, stamp=stamp, verb="product_add", found=found, facts=asdict(label))


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


def _with_parts(
    row: WithParts, parts: Sequence[models.Model], *, stamp: Stamp, verb: str, found: Findings, facts: dict[str, Any]
) -> WithParts:
    """Insert a row and what it is made of as one write with one record."""
    found.row(row)
    found.refuse(f"The {row._meta.verbose_name} was not added.")
    row.save(force_insert=True)
    for part in parts:
        part.save(force_insert=True)
    change_record(stamp=stamp, verb=verb, entity=row, after=row_facts(row) | plain_values(facts))
    return row


@writing()
def mix_add(
    *,
    stamp: Stamp,
    code: str,
    name: str,
    tank_l: float,
    area_basis: str,
    parts: Sequence[PartFacts],
    carrier_l_per_ha: float | None = None,
    stem_dose_ml_per_cm: float | None = None,
) -> Mix:
    """Add a mix: by carrier volume over an area, or by dose to a stem; each part by percent or by rate."""
    mix = Mix(
        code=code,
        name=name,
        tank_l=tank_l,
        area_basis=area_basis,
        carrier_l_per_ha=carrier_l_per_ha,
        stem_dose_ml_per_cm=stem_dose_ml_per_cm,
    )
    found = Findings()
    found.need(tank_l > 0, "tank_l", "Must be more than 0.")
    one = (carrier_l_per_ha is None) != (stem_dose_ml_per_cm is None)
    found.need(one, "carrier_l_per_ha", "Give a carrier volume or a dose a stem: one of them, not both.")
    for field, value in (("carrier_l_per_ha", carrier_l_per_ha), ("stem_dose_ml_per_cm", stem_dose_ml_per_cm)):
        found.need(value is None or value > 0, field, "Must be more than 0.")
    rows = _mix_parts(found, mix, parts)
    facts = {"parts": [_part_facts(part) for part in parts]}
    return _with_parts(mix, rows, stamp=stamp, verb="mix_add", found=found, facts=facts)


def _mix_parts(found: Findings, mix: Mix, parts: Sequence[PartFacts]) -> list[MixPart]:
    found.need(bool(parts), "parts", "A mix has one part at least.")
    percents = sum(part.percent_vv or 0 for part in parts)
    found.need(percents <= 100, "parts", f"The parts come to {percents:g} % of the volume.")
    rows = []
    for number, part in enumerate(parts, start=1):
        row = MixPart(
            mix=mix,
            product=part.product,
            part=part.part,
            percent_vv=part.percent_vv,
            rate_l_per_ha=part.rate_l_per_ha,
        )
        one = (part.percent_vv is None) != (part.rate_l_per_ha is None)
        found.need(one, "parts", f"Part {number}: give a percent or a rate, one of them, not both.")
        right = all(value is None or value > 0 for value in (part.percent_vv, part.rate_l_per_ha))
        found.need(right, "parts", f"Part {number}: must be more than 0.")
        found.part(row, of="parts", number=number, parent="mix")
        rows.append(row)
    return rows


def _part_facts(part: PartFacts) -> dict[str, Any]:
    return {
        "product": part.product.code,
        "part": part.part,
        "percent_vv": part.percent_vv,
        "rate_l_per_ha": part.rate_l_per_ha,
    }


@writing()
def equipment_add(*, code: str, name: str, count: int, notes: str = "", stamp: Stamp) -> Equipment:
    """Add a kind of thing that crews share, with how many of it are in working order."""
    row = Equipment(code=code, name=name, count=count, notes=notes)
    return row_add(row, stamp=stamp, verb="equipment_add")


@writing()
def equipment_edit(*, equipment: Equipment, values: Mapping[str, Any], expected: int, stamp: Stamp) -> Equipment:
    """Change its name, how many there are, or its notes; its code stays."""
    unknown = [FieldError(name, "cannot be changed") for name in values if name not in {"name", "count", "notes"}]
    if unknown:
        raise Invalid("The equipment was not changed.", unknown)
    return row_edit(equipment, stamp=stamp, verb="equipment_edit", expected=expected, values=dict(values))


@writing()
def price_set(
    *,
    stamp: Stamp,
    kind: str,
    code: str,
    from_day: date,
    price_e4: int,
    source: str,
    minimum_e4: int | None = None,
) -> Price:
    """Set a price from a day on. `code` is the product's, for equipment and contracts the method's, else the kind.

    A contract is priced a hectare; `minimum_e4` is the least that the contractor asks for a job.
    """
    found = Findings()
    found.money(price_e4, "price_e4")
    if minimum_e4 is not None:
        found.money(minimum_e4, "minimum_e4")
        found.need(kind == "contract", "minimum_e4", "Only a contract has a least price for a job.")
    own_code = kind not in OWN_CODES or code == kind
    found.need(own_code, "code", f"The price of a {kind} has the code {kind}.")
    sold = kind != "product" or Product.objects.filter(code=code).exists()
    found.need(sold, "code", f"There is no product {code}.")
    row = Price(
        kind=kind,
        code=code,
        unit=PRICE_UNITS.get(kind, ""),
        from_day=from_day,
        price_e4=price_e4,
        minimum_e4=minimum_e4,
        source=source,
    )
    return row_add(row, stamp=stamp, verb="price_set", findings=found)


@writing()
def lot_receive(
    *,
    stamp: Stamp,
    product: Product,
    lot_number: str,
    amount: Decimal,
    unit: str,
    price_e4: int,
    received_on: date,
) -> StockLot:
    """Take a lot into stock: the lot and its receipt. The price is for a liter, or for a kilogram of a dry product."""
    found = Findings()
    _amount_check(found, amount, unit)
    found.money(price_e4, "price_e4")
    lot = StockLot(
        product=product,
        lot_number=lot_number,
        unit=small_unit(unit) if unit in ENTRY_UNITS else MICROLITERS,
        price_e4=price_e4,
        received_on=received_on,
    )
    row_add(lot, stamp=stamp, verb="lot_receive", findings=found)
    stock_move(stamp=stamp, lot=lot, kind="receipt", amount=amount, unit=unit, on=received_on)
    return lot


@writing()
def stock_move(
    *,
    stamp: Stamp,
    lot: StockLot,
    kind: str,
    amount: Decimal,
    unit: str,
    on: date,
    source_kind: str = "",
    source_id: UUID | None = None,
    reason: str = "",
) -> StockMovement:
    """Move stock. Receipts and returns add, uses and write-offs take; for a count, `amount` is what was found there.

    The lot may go below zero: what was really used is recorded, and a count sets it right.
    """
    found = Findings()
    _amount_check(found, amount, unit, least_is_zero=kind == "count")
    same = unit not in ENTRY_UNITS or small_unit(unit) == lot.unit
    found.need(same, "unit", f"This lot is counted in {lot.get_unit_display()}.")
    found.need(kind not in NEEDS_REASON or bool(reason.strip()), "reason", "Say why.")
    signed = 0 if found.errors else _signed(lot, kind, small_amount(amount, unit))
    row = StockMovement(
        lot=lot,
        kind=kind,
        amount=signed,
        entered_value=amount,
        entered_unit=unit,
        on=on,
        at=stamp.at,
        by=stamp.by,
        source_kind=source_kind,
        source_id=source_id,
        reason=reason,
    )
    return row_add(row, stamp=stamp, verb="stock_move", findings=found)


def _amount_check(found: Findings, amount: Decimal, unit: str, least_is_zero: bool = False) -> None:
    found.need(unit in ENTRY_UNITS, "unit", f"Must be one of {', '.join(ENTRY_UNITS)}.")
    enough = amount.is_finite() and (amount >= 0 if least_is_zero else amount > 0)
    found.need(enough, "amount", "Must be 0 or more." if least_is_zero else "Must be more than 0.")


def _signed(lot: StockLot, kind: str, small: int) -> int:
    if kind == "count":
        return small - lot_amount(lot)
    return -small if kind in TAKES else small
