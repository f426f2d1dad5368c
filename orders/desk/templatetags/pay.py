"""How rules of pay are read: weekdays, times of day, shares and exact rates."""

from datetime import time
from fractions import Fraction

from django import template
from django.utils.formats import time_format

from estimating.pricing import to_cents
from orders.desk.pay_forms import WEEKDAYS
from orders.desk.templatetags.desk import money

register = template.Library()


@register.filter
def weekday(number: int) -> str:
    return dict(WEEKDAYS)[number]


@register.filter
def clock(minute: int) -> str:
    """Of minutes after midnight."""
    return time_format(time(minute // 60, minute % 60), "P")


@register.filter
def e4_percent(share_e4: int) -> str:
    """2550 -> 25.5%"""
    return f"{share_e4 / 100:.2f}".rstrip("0").rstrip(".") + "%"


@register.filter
def dollars_ratio(rate: Fraction) -> str:
    """An exact rate, shown to the cent."""
    return f"{money(to_cents(rate))}/h"
