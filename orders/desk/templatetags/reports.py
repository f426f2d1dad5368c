"""How pages write the cells of a report."""

from collections.abc import Sequence
from typing import Any

from django import template
from django.utils.formats import date_format

from orders.desk.templatetags.desk import hours, money
from orders.desk.templatetags.units import area, decimals
from orders.reports.table import Column

register = template.Library()


@register.filter
def cell(value: Any, column: Column) -> str:
    """By the column's kind; nothing where there is nothing."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    return str(WRITTEN.get(column.kind, str)(value))


@register.filter
def item(values: Sequence[Any], place: int) -> Any:
    return values[place]


WRITTEN: dict[str, Any] = {
    "cents": money,
    "minutes": hours,
    "area_m2": area,
    "percent": lambda value: f"{value:,.1f}%",
    "number": lambda value: decimals(float(value)),
    "day": lambda value: date_format(value, "M j, Y"),
    "month": lambda value: date_format(value, "M Y"),
}
