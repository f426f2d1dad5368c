"""What the labels of an order's products say, as the crew's card shows it: put on the order at issue, and kept."""

from collections import defaultdict
from datetime import datetime
from typing import Any

from estimating.labels import THE_LAW
from orders.supplies.models import Product
from orders.supplies.selectors import products
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_prescriptions

VERSION = 1
AS_STORED = (
    "code",
    "name",
    "registration_number",
    "label_version",
    "label_reference",
    "signal_word",
    "rain_free_hours",
    "restricted_entry_hours",
    "entry_rule",
    "protective_equipment",
    "cautions",
    "storage_note",
    "soil_active",
    "aquatic",
    "least_water_distance_m",
)


def label_card(order: WorkOrder, *, at: datetime | None = None) -> dict[str, Any]:
    """The labels' word on the order: of each product, and the strictest of all. `at`: when it was put on the order."""
    methods = _methods_by_product(order)
    used = [product_card(product, methods[product.code]) for product in products().filter(code__in=methods)]
    return {
        "version": VERSION,
        "at": None if at is None else at.isoformat(),
        "notice": THE_LAW,
        "rain_free_hours": _most(used, "rain_free_hours"),
        "restricted_entry_hours": _most(used, "restricted_entry_hours"),
        "products": used,
    }


def label_shown(order: WorkOrder) -> dict[str, Any]:
    """What was put on the order at issue; before that, and on orders issued without it, what the labels say today."""
    return order.label or label_card(order)


def _methods_by_product(order: WorkOrder) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for asked in order_prescriptions(order):
        for code in asked.estimate.products_ul:
            if asked.method.code not in found[code]:
                found[code].append(asked.method.code)
    return found


def _most(used: list[dict[str, Any]], name: str) -> float | None:
    return max((product[name] for product in used if product[name] is not None), default=None)


def product_card(product: Product, methods: list[str]) -> dict[str, Any]:
    """Strengths and rates are those of the methods on the order; caps are the guard's matter, named for the record."""
    return {
        **{name: getattr(product, name) for name in AS_STORED},
        "reviewed_on": product.reviewed_on.isoformat() if product.reviewed_on else None,
        "methods": methods,
        "ingredients": {part.ingredient: part.ae_g_per_l for part in product.ingredients.all()},
        "uses": [
            {"method": use.method, "max_percent_vv": use.max_percent_vv, "max_l_per_ha": use.max_l_per_ha}
            for use in product.label_uses.all()
            if use.method in methods
        ],
        "weather": [
            {name: getattr(limit, name) for name in ("measure", "low", "high", "kind", "reference")}
            for limit in product.label_weather.all()
        ],
    }
