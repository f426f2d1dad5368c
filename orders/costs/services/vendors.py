"""Who is bought from."""

from typing import Any

from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Vendor


@writing()
def vendor_add(*, stamp: Stamp, name: str, kind: str, contact: str = "") -> Vendor:
    row = Vendor(name=name, kind=kind, contact=contact)
    return row_add(row, stamp=stamp, verb="vendor_add", findings=Findings())


@writing()
def vendor_edit(*, vendor: Vendor, values: dict[str, Any], expected: int, stamp: Stamp) -> Vendor:
    """Change name, contact, or whether anything more is bought there."""
    return row_edit(vendor, stamp=stamp, verb="vendor_edit", expected=expected, values=values)
