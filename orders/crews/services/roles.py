"""Writes of labor roles and their standard rates."""

from datetime import date
from typing import Any

from orders.common.rows import Findings, row_add, unversioned_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import LaborRole, StandardRate


@writing()
def labor_role_add(*, stamp: Stamp, code: str, name: str) -> LaborRole:
    return row_add(LaborRole(code=code, name=name), stamp=stamp, verb="labor_role_add")


@writing()
def labor_role_edit(*, role: LaborRole, values: dict[str, Any], read: str | None = None, stamp: Stamp) -> LaborRole:
    """Change a role's name. Its code stays: rate books name it."""
    return unversioned_edit(role, stamp=stamp, verb="labor_role_edit", read=read, values=values)


@writing()
def standard_rate_set(*, stamp: Stamp, role: LaborRole, from_day: date, rate_e4: int, source: str) -> StandardRate:
    """Set the rate of a role from a day on; the rates before stay, so that older days keep theirs."""
    found = Findings()
    found.money(rate_e4, "rate_e4")
    row = StandardRate(role=role, from_day=from_day, rate_e4=rate_e4, source=source)
    return row_add(row, stamp=stamp, verb="standard_rate_set", findings=found)
