"""A cell of a report as text: exact and bare for other programs, with separators and units for people."""

from datetime import date
from fractions import Fraction
from typing import Any

from orders.common.spreadsheets import text_guarded
from orders.reports.table import Kind

DECIMALS = {"minutes": 2, "percent": 1, "area_m2": 1}  # minutes are written as hours


def cents_text(cents: int) -> str:
    """Dollars and cents, exactly: -1234 -> -12.34"""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def hours_text(minutes: int) -> str:
    """Hours to two decimals; the minutes are the exact figure."""
    return f"{minutes / 60:.2f}"


def cell_bare(value: Any, kind: Kind) -> str:
    """For CSV: numbers stay numbers, negative ones too; text is guarded against formulas."""
    if value is None:
        return ""
    if isinstance(value, str):
        return text_guarded(value)
    if kind == "text":
        return text_guarded(str(value))
    return _figure(value, kind, separator="")


def cell_shown(value: Any, kind: Kind) -> str:
    """For people: thousands apart, percent with its sign."""
    if value is None:
        return ""
    if isinstance(value, str) or kind == "text":
        return str(value)
    return _figure(value, kind, separator=",") + ("%" if kind == "percent" else "")


def _figure(value: Any, kind: Kind, separator: str) -> str:
    if isinstance(value, date):
        return f"{value:%Y-%m}" if kind == "month" else value.isoformat()
    if kind == "cents":
        return f"{'-' if value < 0 else ''}{abs(value) // 100:{separator}}.{abs(value) % 100:02d}"
    if kind == "minutes":
        value = value / 60
    if isinstance(value, Fraction):
        value = float(value)
    if kind in DECIMALS:
        return f"{value:{separator}.{DECIMALS[kind]}f}"
    return f"{value:{separator}}"
