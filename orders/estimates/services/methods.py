"""Writes of methods."""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import fields
from typing import Any

from estimating.errors import EstimatingError
from estimating.methods import Method as MethodFacts
from estimating.methods import methods_from_rows
from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid
from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.common.use import needs_refuse
from orders.crews.models import QualificationKind
from orders.estimates.convert import refusal_of
from orders.estimates.models import Method, MethodEquipment
from orders.supplies.models import Equipment, Mix
from orders.supplies.selectors import mixes_out_of_use

FACTS = tuple(one.name for one in fields(MethodFacts))  # the columns of the methods file
NUMBERS = ("lowest_temp_c", "highest_slope_deg", "needs_follow_up_days")


@writing()
def method_add(
    *, facts: Mapping[str, str], qualification: QualificationKind | None, mix: Mix | None, stamp: Stamp
) -> Method:
    """Add one method. It is offered nowhere before a rate book holds rates for it."""
    values = _checked(facts, qualification, mix, "The method was not added.")
    _mixes_refuse([mix], "The method was not added.")
    return row_add(Method(code=facts["code"].strip(), **values), stamp=stamp, verb="method_add")


@writing()
def method_edit(
    *,
    method: Method,
    facts: Mapping[str, str],
    qualification: QualificationKind | None,
    mix: Mix | None,
    is_active: bool | None = None,
    expected: int,
    stamp: Stamp,
) -> Method:
    """Change what a method needs and does; its code stays. Estimates keep the method that they were made with, and are
    told to be out of date."""
    told = {**facts, "code": method.code}
    values = _checked(told, qualification, mix, "The method was not changed.")
    values |= {} if is_active is None else {"is_active": is_active}
    if values.get("is_active", method.is_active) or mix != method.default_mix:
        _mixes_refuse([mix], "The method was not changed.")
    return row_edit(method, stamp=stamp, verb="method_edit", expected=expected, values=values)


@writing()
def method_deactivate(*, method: Method, expected: int, stamp: Stamp) -> Method:
    """Offer it for nothing new. What was estimated, chosen and ordered by it stays, and is done."""
    return row_edit(method, stamp=stamp, verb="method_deactivate", expected=expected, values={"is_active": False})


@writing()
def method_activate(*, method: Method, expected: int, stamp: Stamp) -> Method:
    gone = mixes_out_of_use([method.default_mix])
    needs_refuse(f"{method.name.capitalize()} is done with a mix that is no longer in use.", "mix", gone)
    return row_edit(method, stamp=stamp, verb="method_activate", expected=expected, values={"is_active": True})


def _mixes_refuse(mixes: Iterable[Mix | None], detail: str) -> None:
    """A method in use is done with a mix in use; one that is not keeps the mix that it had."""
    if errors := [FieldError("mix", f"{name} is no longer in use.") for name in mixes_out_of_use(mixes)]:
        raise Invalid(detail, errors)


def _checked(
    facts: Mapping[str, str], qualification: QualificationKind | None, mix: Mix | None, detail: str
) -> dict[str, Any]:
    """The columns of a method from a row of facts that estimating can read."""
    found = Findings()
    for name in set(FACTS) - set(NUMBERS):
        found.need(bool(str(facts.get(name, "")).strip()), name, "Say this of every method.")
    for name in NUMBERS:
        found.need(_is_number(str(facts.get(name, ""))), name, "Must be a number.")
    found.refuse(detail)
    row = {name: str(facts[name]).strip() for name in FACTS}
    try:
        read = methods_from_rows([row]).methods[0]
    except EstimatingError as error:
        raise Invalid(detail, [FieldError(error.field or "", error.message, code=error.code)]) from error
    found.need(qualification is not None or not read.needs_license, "qualification", "Name the license that it needs.")
    found.need(read.uses_herbicide or not read.needs_license, "needs_license", "Only herbicide work asks for one.")
    found.need(mix is None or read.uses_herbicide, "mix", "Only a method with herbicide has a mix.")
    found.need(0 <= read.highest_slope_deg <= 90, "highest_slope_deg", "Must be 0 to 90 degrees.")
    found.need(0 <= read.needs_follow_up_days <= 3_650, "needs_follow_up_days", "Must be 0 to 3,650 days.")
    found.refuse(detail)
    return {
        "name": read.name,
        "facts": row,
        "uses_herbicide": read.uses_herbicide,
        "qualification": qualification,
        "default_mix": mix,
    }


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


@writing()
def mix_methods_set(*, mix: Mix, methods: Collection[Method], stamp: Stamp) -> list[Method]:
    """Say which methods in use are done with a mix: those named, and no others; returns the changed ones."""
    bare = [method.name for method in methods if not method.uses_herbicide]
    if bare:
        errors = [FieldError("methods", f"{name} uses no herbicide, so it has no mix") for name in bare]
        raise Invalid("The methods were not changed.", errors)
    if methods:
        _mixes_refuse([mix], "The methods were not changed.")
    named = {method.pk for method in methods}
    changed: list[tuple[Method, Mix | None]] = [(method, mix) for method in methods if method.default_mix_id != mix.pk]
    changed += [
        (method, None) for method in Method.objects.filter(default_mix=mix, is_active=True).exclude(pk__in=named)
    ]
    return [
        row_edit(method, stamp=stamp, verb="method_edit", expected=method.version, values={"default_mix": after})
        for method, after in changed
    ]


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
    _mixes_refuse(mix.values(), "The methods were not loaded.")
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
