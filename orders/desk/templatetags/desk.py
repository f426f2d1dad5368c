"""How the pages write money, hours, amounts and times."""

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.core.exceptions import DisallowedHost
from django.template import Context
from django.utils.formats import date_format

from estimating.units import KILOGRAMS_PER_POUND, LITRES_PER_US_GALLON
from orders.common.clock import now
from orders.desk.chart_svg import Chart
from orders.desk.listed import person
from orders.desk.navigation import links, money_links
from orders.desk.templatetags.units import product_mass, product_volume
from orders.reminders.selectors import notices_open_count

register = template.Library()
register.filter("full_name", person)

MINUS = "\N{MINUS SIGN}"
DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
# unit of a ledger row -> how many of it make one of what people read, and that unit
READ_AS = {"min": (60, "h"), "uL": (1_000_000, "L"), "mg": (1_000_000, "kg"), "mi/10": (10, "mi")}
# unit of product -> how it is written, and how many of what a price is for make one of what people here buy by
PRODUCT = {"uL": (product_volume, LITRES_PER_US_GALLON, "gal"), "mg": (product_mass, KILOGRAMS_PER_POUND, "lb")}


@register.simple_tag
def program_name() -> str:
    return str(settings.PROGRAM_NAME)


@register.inclusion_tag("desk/parts/head_links.html", takes_context=True)
def head_links(context: Context) -> dict[str, Any]:
    """The groups of pages, and the pages of the group that is shown."""
    request = context["request"]
    return {"groups": links(request.user, request.path), "is_staff": request.user.is_staff}


@register.inclusion_tag("desk/parts/money_nav.html")
def money_nav(here: str) -> dict[str, Any]:
    """The way through the pages about money; `here` names the address of the page, or of the list above it."""
    groups, pages = money_links(here)
    return {"groups": groups, "pages": pages}


@register.simple_tag(takes_context=True)
def reminders_open(context: Context) -> int:
    """How many reminders wait for the reader's answer."""
    return notices_open_count(context["request"].user, at=now())


@register.simple_tag(takes_context=True)
def page_address(context: Context) -> str:
    """For paper: where the page can be found again. Without the scheme, which a proxy may know better."""
    request = context.get("request")
    if request is None:
        return ""
    try:
        return f"{request.get_host()}{request.get_full_path()}"
    except DisallowedHost:
        return str(request.get_full_path())


@register.simple_tag
def printed_at() -> str:
    """A page is made when it is asked for: the moment on the program's own clock."""
    return program_time(now())


@register.filter
def named(names: Mapping[str, str], code: str) -> str:
    """What a code is called; the code where it has no name."""
    return names.get(code, code)


@register.filter
def said(text: str, names: Mapping[str, str]) -> str:
    """A text with the first code in it written as what it is called, whether or not it was capitalized."""
    if not names:
        return text
    by_code = {code.lower(): name for code, name in names.items()}
    codes = "|".join(re.escape(code) for code in sorted(by_code, key=len, reverse=True))
    return re.sub(
        rf"(?<![\w-])(?:{codes})(?![\w-])", lambda found: by_code[found[0].lower()], text, count=1, flags=re.I
    )


@register.filter
def days_said(text: str) -> str:
    """A sentence with its days as people write them: 2027-06-19 -> Jun 19, 2027"""
    return DAY.sub(_day_said, text)


def _day_said(found: re.Match[str]) -> str:
    """What is no day, such as a mistyped one, stays as it was written."""
    try:
        return date_format(date.fromisoformat(found[0]), "M j, Y")
    except ValueError:
        return found[0]


@register.simple_tag(takes_context=True)
def turned(context: Context, value: int | str, name: str = "") -> str:
    """The page's own address with another page of a list, or another value of a name; everything else stays."""
    asked = context["request"].GET.copy()
    asked[name or "page"] = str(value)
    return f"?{asked.urlencode()}"


@register.filter
def money(cents: int) -> str:
    """-123456 -> −$1,234.56"""
    sign, whole = _signed(cents)
    return f"{sign}${whole // 100:,}.{whole % 100:02d}"


def _signed(amount: int) -> tuple[str, int]:
    return (MINUS if amount < 0 else ""), abs(amount)


@register.filter
def counted(number: int) -> str:
    """2708 -> 2,708"""
    return f"{number:,}"


@register.filter
def hours(minutes: int) -> str:
    return _decimals(minutes, 60)


@register.simple_tag
def amount(quantity: int, unit: str) -> str:
    """240 min -> 4.00 h; of product US first and metric behind: 1000000 uL -> 33.8 fl oz (1.000 L)"""
    if unit in PRODUCT:
        return PRODUCT[unit][0](quantity)
    divisor, name = READ_AS.get(unit, (1, unit))
    return f"{_decimals(quantity, divisor)} {name}"


@register.simple_tag
def rate(rate_e4: int, unit: str) -> str:
    """300000 a minute's hour -> $30.00/h; the fourth decimal is shown where there is one. Of product also by the gallon
    or pound, rounded."""
    if unit in PRODUCT:
        _, held, name = PRODUCT[unit]
        return f"${rate_e4 * held / 10_000:,.2f}/{name} ({_rate(rate_e4, unit)})"
    return _rate(rate_e4, unit)


def _rate(rate_e4: int, unit: str) -> str:
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
    return date_format(moment.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)), "M j, Y, P T")


@register.inclusion_tag("desk/parts/figure.html")
def figure(chart: Chart, wide: bool = False, folded: bool = False) -> dict[str, Any]:
    """A picture and its numbers as a table; `wide` puts them side by side where the screen is wide, `folded` leaves a
    long table to be opened."""
    return {"chart": chart, "wide": wide, "folded": folded}
