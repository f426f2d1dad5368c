"""What crews share, and what things cost from a day on."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from orders.common.errors import FieldError, Invalid
from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.models import Equipment, Price, Product

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
