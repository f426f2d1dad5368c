"""How the pages of field work write clocks, durations and weather: the site's own clock, US units."""

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.utils.formats import date_format

from estimating import units
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import GROUND, SAFETY
from orders.desk.templatetags.desk import program_time
from orders.desk.templatetags.units import NOT_KNOWN, volume
from orders.field.models import Briefing, OverdueAlert
from orders.field.selectors.checkins import alerts_standing
from orders.field.selectors.flags import flags_of
from orders.workorders.models import WorkOrder
from orders.workorders.printing import EditionState, edition_state

register = template.Library()

MICROLITERS = 1_000_000
# Course of a state -> the mark that a page shows with its word
MARKS = {
    "open": "wait",
    "settled": "good",
    "waiting": "wait",
    "whole": "good",
    "broken": "bad",
    "draft": "off",
    "issued": "wait",
    "underway": "wait",
    "closed": "good",
    "void": "off",
    "go": "good",
    "advised_against": "wait",
    "no_go": "bad",
    "note": "off",
    "settle": "wait",
    "urgent": "bad",
    "applied": "good",
    "held": "bad",
    "unreadable": "bad",
    "complete": "good",
    "incomplete": "bad",
    "owed": "wait",
    "late": "bad",
}


@register.simple_tag
def overdue_crews(actor: User) -> list[OverdueAlert]:
    """For the strip above every page of the desk: crews that are not back."""
    return list(alerts_standing()) if actor.is_authenticated and actor.has_role(*SAFETY) else []


@register.simple_tag
def open_flags(actor: User) -> int:
    """How many wait for somebody; what is only to be known is not counted."""
    if not (actor.is_authenticated and actor.has_role(*GROUND)):
        return 0
    on = Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
    return flags_of(actor, on=on).filter(state="open").exclude(severity="note").order_by().count()


@register.simple_tag
def editions_of(order: WorkOrder) -> EditionState:
    """What was printed of it last, and what has changed since."""
    return edition_state(order)


@register.filter
def mark(state: str) -> str:
    """The class of a state's mark; its word stands beside it."""
    return f"state state-{MARKS.get(state, 'off')}"


@register.filter
def site_time(moment: datetime | None, time_zone: str) -> str:
    """Feb 10, 3:00 p.m."""
    return "" if moment is None else date_format(moment.astimezone(ZoneInfo(time_zone)), "M j, P")


@register.filter
def lasted(minutes: int | None) -> str:
    """135 -> 2 h 15 min"""
    if minutes is None:
        return NOT_KNOWN
    sign = "\N{MINUS SIGN}" if minutes < 0 else ""
    whole, rest = divmod(abs(minutes), 60)
    parts = [f"{whole} h" if whole else "", f"{rest} min" if rest or not whole else ""]
    return sign + " ".join(part for part in parts if part)


@register.filter
def microliters(volume_ul: int | None) -> str:
    return volume(None if volume_ul is None else volume_ul / MICROLITERS)


@register.filter
def fahrenheit(temperature_c: float | None) -> str:
    return NOT_KNOWN if temperature_c is None else f"{units.fahrenheit(temperature_c):.0f} °F"


@register.filter
def mph(wind_m_s: float | None) -> str:
    return NOT_KNOWN if wind_m_s is None else f"{wind_m_s * 3600 / units.METRES_PER_MILE:.0f} mph"


@register.filter
def skew(seconds: int | None) -> str:
    """How far a tablet's clock is from the server's."""
    if seconds is None:
        return "not known"
    if abs(seconds) < 60:
        return "right"
    ahead = "ahead" if seconds > 0 else "behind"
    return f"{lasted(abs(seconds) // 60)} {ahead}"


@register.filter
def finding_words(finding: Any) -> str:
    """Of a limit that stood against a use, as it was kept."""
    return str(finding.get("words") or finding.get("message") or "") if isinstance(finding, dict) else str(finding)


@register.filter
def plain_words(code: str) -> str:
    """server_error -> Server error"""
    return code.replace("_", " ").replace("-", " ").capitalize()


@register.filter
def stated_value(value: Any) -> str:
    """One side of a comparison; nothing is told apart from empty."""
    if value is None:
        return "nothing stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return program_time(value)
    if isinstance(value, date):
        return date_format(value, "M j, Y")
    return f"{value.normalize():f}" if isinstance(value, Decimal) else str(value) or "empty"


CONDITIONS: dict[str, tuple[str, Callable[[Any], str]]] = {
    "air_temperature_c": ("Air", fahrenheit),
    "relative_humidity_percent": ("Humidity", lambda value: f"{value:.0f}%"),
    "wind_m_s": ("Wind", mph),
    "full_sun": ("Sun", lambda value: "full sun" if value else "shade"),
    "workload": ("Work", str),
}
COMPUTED: dict[str, tuple[str, Callable[[Any], str]]] = {
    "heat_index_c": ("Heat index", fahrenheit),
    "felt_c": ("Heat as felt", fahrenheit),
    "heat_band": ("Heat", str),
    "wind_chill_c": ("Wind chill", fahrenheit),
    "cold_band": ("Cold", str),
    "work_minutes_per_hour": ("Work in an hour", lasted),
    "rest_minutes_per_hour": ("Rest in an hour", lasted),
}


@register.filter
def briefing_facts(briefing: Briefing) -> list[tuple[str, str]]:
    """What was entered, and what was computed of it, as a page lists it."""
    tables = ((CONDITIONS, briefing.conditions), (COMPUTED, briefing.computed))
    return [
        (name, say(told[key]))
        for words, told in tables
        for key, (name, say) in words.items()
        if told.get(key) is not None
    ]
