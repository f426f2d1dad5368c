"""A record's values as people read them, in the units of labels here."""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from orders.supplies.amounts import small_amount
from orders.workorders.models import ApplicationRecord
from orders.workorders.records.fields import FIELDS, Problem, moment_of

M_S_PER_MPH = 0.44704  # exact
US_BESIDE = {"L": "gal", "mL": "fl oz", "kg": "lb", "g": "oz"}
AREA_NAMES = {"acre": "acres", "ft2": "sq ft", "m2": "m²"}
POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def record_values(record: ApplicationRecord) -> dict[str, Any]:
    """What was signed, by field code."""
    return dict(record.values.get("fields", {}))


def record_lines(record: ApplicationRecord) -> list[tuple[str, Problem, str]]:
    """Each field that was signed or is missing: its code, its name, its value in words."""
    values = record_values(record)
    zone = ZoneInfo(record.site.time_zone)
    names = {part.product.code: part.product.name for part in record.batch.parts.all()}
    shown = [field for field in FIELDS if field.code in values or field.code in record.missing]
    return [(field.code, field.name, value_words(field.kind, values.get(field.code), names, zone)) for field in shown]


def value_words(kind: str, value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    """As it was typed where it is not what its kind says."""
    if value is None or value in ("", {}, []):
        return ""
    try:
        return WORDS[kind](value, names, zone)
    except (ArithmeticError, AttributeError, KeyError, TypeError, ValueError):
        return str(value)


def _plain(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    return str(value)


def _measured(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    return f"{value['value']} {AREA_NAMES.get(value['unit'], value['unit'])}"


def _by_product(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    told = {code: str(text) for code, text in value.items()}
    if list(told.values()) == [names.get(code) for code in told]:
        return "; ".join(told.values())
    return "; ".join(f"{names.get(code, code)}: {text}" for code, text in told.items())


def _amounts(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    return "; ".join(f"{names.get(code, code)}: {_amount(told)}" for code, told in value.items())


def _amount(told: Mapping[str, str]) -> str:
    """As it was signed, a metric amount with US units behind."""
    value, unit = Decimal(told["value"]), told["unit"]
    signed = f"{value:,f} {unit}"
    if unit not in US_BESIDE:
        return signed
    return f"{signed} ({small_amount(value, unit) / small_amount(Decimal(1), US_BESIDE[unit]):,.1f} {US_BESIDE[unit]})"


def _day(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    return day_words(date.fromisoformat(value))


def _moment(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    found = moment_of(value)
    return moment_words(found, zone) if found else str(value)


def _wind(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    speed = f"{value['speed_m_s'] / M_S_PER_MPH:.0f} mph"
    if value.get("from_deg") is None:
        return speed
    point = POINTS[round(value["from_deg"] / 45) % 8]
    return _("%(speed)s from the %(point)s (%(degrees)d°)") % {
        "speed": speed,
        "point": point,
        "degrees": value["from_deg"],
    }


def _temperature(value: Any, names: Mapping[str, str], zone: ZoneInfo) -> str:
    return f"{value * 9 / 5 + 32:.0f} °F ({value:.0f} °C)"


def day_words(day: date) -> str:
    return date_format(day, "DATE_FORMAT")


def moment_words(moment: datetime, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"{date_format(local, 'DATETIME_FORMAT')} {local:%Z}"


WORDS: dict[str, Callable[[Any, Mapping[str, str], ZoneInfo], str]] = {
    "text": _plain,
    "area": _measured,
    "day": _day,
    "moment": _moment,
    "by product": _by_product,
    "amounts": _amounts,
    "wind": _wind,
    "temperature": _temperature,
}
