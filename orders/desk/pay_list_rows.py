"""What the files of the lists about pay tell of each row: finance's alone. Rates are in dollars an hour."""

from collections.abc import Callable
from typing import Any

from orders.desk.listed import ListFile, dollars, hours
from orders.desk.templatetags.pay import clock, weekday


def _of(number_e4: int | None, units: int) -> float | None:
    return None if number_e4 is None else number_e4 / units


def _rate(field: str) -> Callable[[Any], float | None]:
    return lambda row: _of(getattr(row, field), 10_000)


def _percent(field: str) -> Callable[[Any], float | None]:
    return lambda row: _of(getattr(row, field), 100)


def _hours(field: str) -> Callable[[Any], float | None]:
    return lambda row: hours(getattr(row, field))


PAY_RATES = ListFile(
    "pay-rates",
    {
        "Person": lambda row: row.person.name,
        "Role": lambda row: row.role.name if row.role else "any",
        "From": lambda row: row.from_day,
        "Wage $/h": _rate("wage_e4"),
        "Rate $/h": _rate("rate_e4"),
        "Fringe, %": _percent("fringe_e4"),
        "Yearly $": lambda row: dollars(row.yearly_cents),
        "Paid hours a year": lambda row: row.paid_hours,
        "Productive hours a year": lambda row: row.productive_hours,
    },
)
COMP_TIME = ListFile(
    "time-off-agreements",
    {
        "Person": lambda row: row.person.name,
        "From": lambda row: row.first_day,
        "Until": lambda row: row.last_day,
        "Where it is kept": lambda row: row.reference,
    },
)
MATCH_RATES = ListFile(
    "match-rates",
    {
        "Whose hours": lambda row: row.get_person_type_display(),
        "Role": lambda row: row.role.name,
        "From": lambda row: row.from_day,
        "Rate $/h": _rate("rate_e4"),
        "Fringe, %": _percent("fringe_e4"),
        "Taken from": lambda row: row.source,
    },
)
OVERTIME_RULES = ListFile(
    "overtime-rules",
    {
        "Where (empty: everywhere, federal)": lambda row: str(row.jurisdiction or ""),
        "From": lambda row: row.from_day,
        "Time and a half beyond, h a week": _hours("week_minutes"),
        "Time and a half beyond, h a day": _hours("day_minutes"),
        "Double time beyond, h a day": _hours("day_double_minutes"),
        "Seventh day": lambda row: "time and a half" if row.seventh_day else "as any",
        "Reviewed": lambda row: row.reviewed_by,
        "Source": lambda row: row.source,
    },
)
PAY_POLICIES = ListFile(
    "pay-policies",
    {
        "From": lambda row: row.from_day,
        "Workweek begins": lambda row: f"{weekday(row.week_starts_on)}, {clock(row.week_starts_minute)}",
        "Time zone": lambda row: row.time_zone,
        "Premium": lambda row: row.get_overtime_method_display(),
        "Rounding": lambda row: row.get_rounding_display(),
        "Payroll taxes, %": _percent("premium_fringe_e4"),
        "Borne": lambda row: row.get_spread_display(),
        "Punches rounded to, min": lambda row: row.punch_minutes,
        "Time off": lambda row: "may be agreed" if row.comp_time else "no",
        "Source": lambda row: row.source,
    },
)
