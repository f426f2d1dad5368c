"""Writes of methods."""

from collections.abc import Mapping, Sequence
from typing import Any

from estimating.errors import EstimatingError
from estimating.methods import methods_from_rows
from orders.common.changes import change_record, version_bump
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import QualificationKind
from orders.estimates.convert import refusal_of
from orders.estimates.models import Method
from orders.supplies.models import Mix


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
