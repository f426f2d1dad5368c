"""Mixes: what goes into the tank, at which strength."""

from collections.abc import Sequence
from typing import Any

from orders.common.errors import FieldError
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.labels import PartFacts, parts_of
from orders.supplies.models import Mix, MixPart
from orders.supplies.selectors import products_out_of_use
from orders.supplies.services.parts import with_parts_add, with_parts_edit
from orders.supplies.services.use import mix_needed_refuse


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
    found, rows = _mix_checked(mix, parts)
    facts = {"parts": [_part_facts(part) for part in parts]}
    return with_parts_add(mix, rows, stamp=stamp, verb="mix_add", found=found, facts=facts)


@writing()
def mix_edit(
    *,
    mix: Mix,
    name: str,
    tank_l: float,
    area_basis: str,
    parts: Sequence[PartFacts],
    carrier_l_per_ha: float | None = None,
    stem_dose_ml_per_cm: float | None = None,
    is_active: bool | None = None,
    expected: int,
    stamp: Stamp,
) -> Mix:
    """Change a mix; estimates and orders keep the one that they were made with."""
    if is_active is False:
        mix_needed_refuse(mix)
    values: dict[str, Any] = {
        "name": name,
        "tank_l": tank_l,
        "area_basis": area_basis,
        "carrier_l_per_ha": carrier_l_per_ha,
        "stem_dose_ml_per_cm": stem_dose_ml_per_cm,
    }
    values |= {} if is_active is None else {"is_active": is_active}
    proposed = Mix.objects.get(pk=mix.pk)
    before = {field: getattr(proposed, field) for field in values}
    for field, value in values.items():
        setattr(proposed, field, value)
    found, rows = _mix_checked(proposed, parts)
    found.row(proposed)
    found.refuse("The mix was not changed.")
    return with_parts_edit(
        mix,
        {"parts": rows},
        values=values,
        before=before | {"parts": [_part_facts(part) for part in parts_of(proposed)]},
        after=values | {"parts": [_part_facts(part) for part in parts]},
        expected=expected,
        stamp=stamp,
        verb="mix_edit",
    )


def _mix_checked(mix: Mix, parts: Sequence[PartFacts]) -> tuple[Findings, list[MixPart]]:
    found = Findings()
    found.need(mix.tank_l > 0, "tank_l", "Must be more than 0.")
    one = (mix.carrier_l_per_ha is None) != (mix.stem_dose_ml_per_cm is None)
    found.need(one, "carrier_l_per_ha", "Give a carrier volume or a dose a stem: one of them, not both.")
    for field in ("carrier_l_per_ha", "stem_dose_ml_per_cm"):
        value = getattr(mix, field)
        found.need(value is None or value > 0, field, "Must be more than 0.")
    return found, _mix_parts(found, mix, parts)


def _mix_parts(found: Findings, mix: Mix, parts: Sequence[PartFacts]) -> list[MixPart]:
    found.need(bool(parts), "parts", "A mix has one part at least.")
    percents = sum(part.percent_vv or 0 for part in parts)
    found.need(percents <= 100, "parts", f"The parts come to {percents:g}% of the volume.")
    gone = _gone(mix, parts)
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
        if part.product.pk in gone:
            found.errors.append(FieldError("parts.product", f"{part.product.name} is no longer in use.", number))
        found.part(row, of="parts", number=number, parent="mix")
        rows.append(row)
    return rows


def _gone(mix: Mix, parts: Sequence[PartFacts]) -> set[int]:
    """Keys of products out of use that may not go in: a mix that is out of use itself keeps what it held."""
    held = set() if mix.is_active or mix.pk is None else set(mix.parts.values_list("product", flat=True))
    return set(products_out_of_use(part.product.pk for part in parts)) - held


def _part_facts(part: PartFacts) -> dict[str, Any]:
    return {
        "product": part.product.code,
        "part": part.part,
        "percent_vv": part.percent_vv,
        "rate_l_per_ha": part.rate_l_per_ha,
    }
