"""What a record may hold: the union of what the rules read ask for. A profile says which of it is required where.

A value is kept as it was signed. What it must look like to count as held:

text            requester, location, use_site, target_pest, applicator, license_number, noncertified_applicator,
                equipment, label_required, language
area            {"value": "0.5", "unit": "acre"}
day             "2027-02-10"
moment          "2027-02-10T14:05:00-05:00"
by product      {"product code": "text"}: product (its name), registration_number, rate
amounts         {"product code": {"value": "3.5", "unit": "fl oz"}}: product as packaged, not the mix
wind            {"speed_m_s": 2.1, "from_deg": 270}: the direction that it comes from; 0 m/s needs none
temperature     21.5 (degrees Celsius)
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from orders.supplies.amounts import ENTRY_UNITS

VERSION = 1
# Company, product, and the distributor's own number where there is one. From memory: not found in print.
REGISTRATION_NUMBER = re.compile(r"[0-9]{1,6}-[0-9]{1,5}(-[0-9]{1,6})?")
AREA_UNITS = ("acre", "ft2", "ha", "m2")
AMOUNT_UNITS = (*ENTRY_UNITS, "pt")
# 60 mph: beyond it a figure is a slip of the finger; our own choice.
STRONGEST_WIND_M_S = 60 * 0.44704
COLDEST_C, HOTTEST_C = -40.0, 60.0

Problem = Promise | str
Check = Callable[[Any, "Known"], Problem]


@dataclass(frozen=True)
class Known:
    """What the batch tells of the products in it: their codes, and which of them are registered herbicides."""

    products: Collection[str] = ()
    herbicides: Collection[str] = ()


@dataclass(frozen=True)
class RecordField:
    """`row`: its place in the comparison of the states' rules that it was taken from."""

    row: int
    code: str
    name: Problem
    kind: str
    check: Check


def _text(value: Any, known: Known) -> Problem:
    return "" if isinstance(value, str) and value.strip() else _("is empty")


def _amount(value: Any, units: Collection[str]) -> Problem:
    if not isinstance(value, Mapping):
        return _("needs a value and a unit")
    try:
        more = Decimal(str(value.get("value")))
    except InvalidOperation:
        return _("needs a value and a unit")
    if not (more.is_finite() and more > 0):
        return _("must be more than 0")
    return "" if value.get("unit") in units else _("has a unit that is not known")


def _area(value: Any, known: Known) -> Problem:
    return _amount(value, AREA_UNITS)


def _day(value: Any, known: Known) -> Problem:
    try:
        date.fromisoformat(value)
    except (TypeError, ValueError):
        return _("is no day")
    return ""


def moment_of(value: Any) -> datetime | None:
    """An instant with its offset, or None."""
    try:
        found = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return found if found.tzinfo else None


def _moment(value: Any, known: Known) -> Problem:
    return "" if moment_of(value) else _("is no time")


def _each(value: Any, wanted: Collection[str], check: Callable[[Any], Problem]) -> Problem:
    if not isinstance(value, Mapping) or not value:
        return _("is empty")
    if any(not value.get(code) for code in wanted):
        return _("is not given for every product")
    return next((problem for told in value.values() if told and (problem := check(told))), "")


def _texts(value: Any, known: Known) -> Problem:
    return _each(value, known.products, lambda told: _text(told, known))


def _registered(told: Any) -> Problem:
    right = isinstance(told, str) and REGISTRATION_NUMBER.fullmatch(told.strip())
    return "" if right else _("is no registration number")


def _numbers(value: Any, known: Known) -> Problem:
    return _each(value, known.herbicides, _registered)


def _amounts(value: Any, known: Known) -> Problem:
    return _each(value, known.products, lambda told: _amount(told, AMOUNT_UNITS))


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _wind(value: Any, known: Known) -> Problem:
    speed = value.get("speed_m_s") if isinstance(value, Mapping) else None
    if not _number(speed) or speed is None or not 0 <= speed <= STRONGEST_WIND_M_S:
        return _("needs a speed of 0 to 60 miles an hour")
    from_deg = value.get("from_deg")
    right = speed == 0 or (_number(from_deg) and 0 <= from_deg <= 360)
    return "" if right else _("needs the direction that it comes from")


def _temperature(value: Any, known: Known) -> Problem:
    return "" if _number(value) and COLDEST_C <= value <= HOTTEST_C else _("is no temperature")


FIELDS = (
    RecordField(1, "requester", _("Customer or person requesting, name and address"), "text", _text),
    RecordField(2, "location", _("Location of the application"), "text", _text),
    RecordField(3, "area_treated", _("Size of the area treated"), "area", _area),
    RecordField(4, "use_site", _("Site, crop or plants treated"), "text", _text),
    RecordField(5, "target_pest", _("Target pest"), "text", _text),
    RecordField(6, "date", _("Date"), "day", _day),
    RecordField(7, "start_time", _("Start time"), "moment", _moment),
    RecordField(8, "end_time", _("End time"), "moment", _moment),
    RecordField(9, "product", _("Product or brand name"), "by product", _texts),
    RecordField(10, "registration_number", _("Registration number"), "by product", _numbers),
    RecordField(11, "amount", _("Total amount of product"), "amounts", _amounts),
    RecordField(12, "rate", _("Rate, concentration or dilution"), "by product", _texts),
    RecordField(13, "applicator", _("Applicator"), "text", _text),
    RecordField(14, "license_number", _("License or certification number"), "text", _text),
    RecordField(15, "noncertified_applicator", _("Applicators who are not certified, and supervisor"), "text", _text),
    RecordField(16, "wind", _("Wind, speed and direction"), "wind", _wind),
    RecordField(17, "air_temperature", _("Air temperature"), "temperature", _temperature),
    RecordField(18, "equipment", _("Equipment or method"), "text", _text),
    RecordField(19, "label_required", _("Anything else that the label requires"), "text", _text),
    RecordField(20, "language", _("Language of the record"), "text", _text),
)
CODES = tuple(field.code for field in FIELDS)
BY_CODE = {field.code: field for field in FIELDS}


def fields_problems(values: Mapping[str, Any], known: Known) -> dict[str, Problem]:
    """What stands against each value that was given."""
    given = {field: values[field.code] for field in FIELDS if _given(values.get(field.code))}
    found = {field.code: problem for field, told in given.items() if (problem := field.check(told, known))}
    started, ended = moment_of(values.get("start_time")), moment_of(values.get("end_time"))
    if started and ended and ended < started:
        found["end_time"] = _("is before the start")
    return found


def fields_missing(values: Mapping[str, Any], wanted: Iterable[str], known: Known) -> list[str]:
    """Codes of the wanted fields that the values do not hold as they should, in the order of the fields."""
    wrong = fields_problems(values, known)
    asked = set(wanted)
    return [code for code in CODES if code in asked and (code in wrong or not _given(values.get(code)))]


def _given(value: Any) -> bool:
    return value is not None and value not in ("", {}, [])
