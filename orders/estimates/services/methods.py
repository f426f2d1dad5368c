"""Writes of methods."""

from collections.abc import Mapping, Sequence
from typing import Any

from estimating.errors import EstimatingError
from estimating.methods import methods_from_rows
from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import QualificationKind
from orders.estimates.convert import refusal_of
from orders.estimates.models import Method, MethodEquipment
from orders.supplies.models import Equipment, Mix


@writing()
def methods_load(
    *,
    rows: Sequence[Mapping[str, str]],
    qualification: Mapping[str, QualificationKind],
    mix: Mapping[str, Mix],
    stamp: Stamp,
) -> list[Method]:
    """Add or replace methods from rows of the methods file; `qualification` and `mix` by method code."""
    try:
        table = methods_from_rows(rows)
    except EstimatingError as error:
        raise refusal_of(error) from error
    return [_method_put(table[row["code"].strip()].name, row, qualification, mix, stamp) for row in rows]


def _method_put(
    name: str,
    row: Mapping[str, str],
    qualification: Mapping[str, QualificationKind],
    mix: Mapping[str, Mix],
    stamp: Stamp,
) -> Method:
    code = row["code"].strip()
    values: dict[str, Any] = {
        "name": name,
        "facts": dict(row),
        "uses_herbicide": row["uses_herbicide"].strip() == "yes",
        "qualification": qualification.get(code),
        "default_mix": mix.get(code),
    }
    known = Method.objects.filter(code=code).first()
    if known is None:
        method = Method.objects.create(code=code, **values)
        change_record(stamp=stamp, verb="method_add", entity=method, after={"facts": dict(row)})
        return method
    before = version_bump(known, expected=None, **values)
    change_record(
        stamp=stamp, verb="method_edit", entity=known, before={"facts": before["facts"]}, after={"facts": dict(row)}
    )
    return known


@writing()
def method_equipment_set(
    *, method: Method, units: Mapping[Equipment, int], stamp: Stamp, expected_version: int | None = None
) -> Method:
    """Say what a crew has with it on a day of the method; what is not named it does not need."""
    errors = [
        FieldError("units", f"{kind.code}: must be a whole number, 1 or more")
        for kind, count in units.items()
        if isinstance(count, bool) or not isinstance(count, int) or count < 1
    ]
    if errors:
        raise Invalid("The method's equipment was not changed.", errors)
    before = {row.equipment.code: row.units_per_crew for row in method.equipment_needs.select_related("equipment")}
    after = {kind.code: count for kind, count in units.items()}
    if before == after and expected_version in (None, method.version):
        return method
    version_bump(method, expected=expected_version)
    method.equipment_needs.all().delete()
    MethodEquipment.objects.bulk_create(
        MethodEquipment(method=method, equipment=kind, units_per_crew=count) for kind, count in units.items()
    )
    old, new = {"equipment": before}, {"equipment": after}
    change_record(stamp=stamp, verb="method_equipment_set", entity=method, before=old, after=new)
    return method
