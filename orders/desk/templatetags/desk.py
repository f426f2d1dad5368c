"""How the pages write money, hours, amounts and times."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.utils.formats import date_format

from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, FINANCE
from orders.desk.bars import Bars, cost_bars
from orders.reports.costs import CostReport

register = template.Library()

MINUS = "\N{MINUS SIGN}"
# unit of a ledger row -> how many of it make one of what people read, and that unit
READ_AS = {"min": (60, "h"), "uL": (1_000_000, "L"), "mg": (1_000_000, "kg"), "mi/10": (10, "mi")}


@register.simple_tag
def program_name() -> str:
    return str(settings.PROGRAM_NAME)


@register.filter
def opens_costs(user: User) -> bool:
    return user.has_role(FINANCE, ADMINISTRATOR)


@register.filter
def money(cents: int) -> str:
    """-123456 -> −$1,234.56"""
    sign, whole = _signed(cents)
    return f"{sign}${whole // 100:,}.{whole % 100:02d}"


def whole_dollars(cents: int) -> str:
    """For the picture: the cents stand in the table."""
    sign, whole = _signed(cents)
    dollars = (whole + 50) // 100
    return f"{sign if dollars else ''}${dollars:,}"


def _signed(amount: int) -> tuple[str, int]:
    return (MINUS if amount < 0 else ""), abs(amount)


@register.filter
def hours(minutes: int) -> str:
    return _decimals(minutes, 60)


@register.simple_tag
def amount(quantity: int, unit: str) -> str:
    """240 min -> 4.00 h"""
    divisor, name = READ_AS.get(unit, (1, unit))
    return f"{_decimals(quantity, divisor)} {name}"


@register.simple_tag
def rate(rate_e4: int, unit: str) -> str:
    """300000 a minute's hour -> $30.00/h; the fourth decimal is shown where there is one."""
    dollars = f"{rate_e4 // 10_000:,}.{rate_e4 % 10_000:04d}"
    kept = dollars[:-2] if dollars.endswith("00") else dollars
    return f"${kept}/{READ_AS.get(unit, (1, unit))[1]}"


def _decimals(quantity: int, divisor: int) -> str:
    sign, whole = _signed(quantity)
    hundredths = (whole * 200 + divisor) // (2 * divisor)
    return f"{sign if hundredths else ''}{hundredths // 100:,}.{hundredths % 100:02d}"


@register.filter
def program_time(moment: datetime) -> str:
    """An instant on the program's own clock, with its zone: Mar 1, 2027, 10:00 a.m. EST"""
    return date_format(moment.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)), "N j, Y, P T")


@register.inclusion_tag("desk/parts/bars.html")
def bars(report: CostReport) -> dict[str, Any]:
    drawn: Bars = cost_bars(report, whole_dollars)
    return {"bars": drawn, "heading": report.heading}
