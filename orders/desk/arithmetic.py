"""The arithmetic of an estimate as lines: what is found, its formula with the figures filled in, and the result.

Each line is written from the frozen explanation alone (see `estimating.explain`), with six significant digits, so that
a pencil gets from line to line. What an old explanation did not keep yet is left out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from orders.desk.templatetags.units import digits, factor_name, percent, unit_words

Told = Mapping[str, Any]
SECONDS = 3600


@dataclass(frozen=True)
class Line:
    """`key` names the figure for those who read the page by machine."""

    key: str
    what: str
    how: str
    figure: str
    unit: str


def part_formula(part: Told) -> str:
    """120 m2 × 0.042 h per m2 × 0.318412 × 1.2"""
    terms = [f"{digits(part['quantity'])} {unit(part['quantity_unit'])}"]
    if "hours_per_unit" in part:
        terms.append(f"{digits(part['hours_per_unit'])} h per {unit(part['quantity_unit'], one=True)}")
    else:
        terms.append(f"{digits(part['rate'])} {unit_words(part['unit'])}")
    if part.get("cover_exponent"):
        terms.append(digits(part["cover_term"]))
    return " × ".join([*terms, *(digits(factor["multiplier"]) for factor in part["factors"])])


UNIT_WORDS = {
    "m2": ("m²", "m²"),
    "m3": ("m³", "m³"),
    "l": ("L", "L"),
    "stems": ("stems", "stem"),
    "loads": ("loads", "load"),
}


def unit(code: str, *, one: bool = False) -> str:
    words = unit_words(code)
    return UNIT_WORDS.get(code, (words, words))[one]


def pace_lines(told: Told) -> list[Line]:
    """From standard hours to field hours: who is sent, how fast, and how much in each other's way."""
    pace = told.get("pace")
    if not pace or pace["field_person_hours"] is None:
        return []
    sent, size = digits(pace["crew_sent"]), digits(pace["crew_size"])
    room, worked = digits(pace["elbow_room_m2"]), digits(pace["worked_area_m2"])
    standard, crowding, speed = (digits(pace[name]) for name in ("standard_person_hours", "crowding", "pace"))
    most = "any number" if pace["crew_most"] is None else f"at most {digits(pace['crew_most'])}"
    step_hours = " + ".join(digits(step["hours"]) for step in told["steps"])
    crowded = (
        f"1 + ({sent} − 1) × {room} ÷ ({room} + {worked} m²)" if pace["elbow_room_m2"] else "no elbow room is asked for"
    )
    return [
        Line("standard-hours", "Standard person-hours", f"steps: {step_hours}", standard, "h"),
        Line("sent", "People sent", f"crew of {size}; the method takes {most}", sent, "people"),
        Line("crowding", "Crowding", crowded, crowding, ""),
        Line("pace", "Pace of the crew", _pace_words(pace), speed, ""),
        Line(
            "effective-people",
            "People in effect",
            f"{sent} × {speed} ÷ {crowding}",
            digits(pace["effective_people"]),
            "people",
        ),
        Line(
            "field-hours",
            "Field person-hours",
            f"{standard} × {crowding} ÷ {speed}",
            digits(pace["field_person_hours"]),
            "h",
        ),
    ]


def _pace_words(pace: Told) -> str:
    by_role = ", ".join(f"{role} {digits(value)}" for role, value in pace.get("pace_by_role", {}).items())
    words = f"mean over the crew ({by_role})" if by_role else "mean over the crew"
    heat = pace.get("heat_share", 1.0)
    return words if heat == 1 else f"{words} × {digits(heat)} for those not used to heat"


DAY_PARTS = (
    ("drive_hours", "Drive, both ways"),
    ("walk_in_hours", "Walk in and out"),
    ("briefing_hours", "Tailgate briefing"),
    ("setup_hours", "Set-up"),
    ("cleanup_hours", "Clean-up"),
    ("break_hours", "Breaks"),
)


def day_lines(told: Told) -> list[Line]:
    """From field hours to crew-days, crew-hours and paid person-hours."""
    day = told.get("crew_day")
    hours = _field_hours(told)
    if not day or day.get("crew_days") is None or hours is None:
        return []
    parts = [Line(f"day-{name}", f"less {words.lower()}", "", digits(day[name]), "h") for name, words in DAY_PARTS]
    on_site = day["shift_hours"] - sum(day[name] for name, _ in DAY_PARTS)
    stretch, how = _allowance(day)
    sent = digits(day.get("crew_sent", day["crew_size"]))
    productive, days, shift = digits(day["productive_hours"]), digits(day["crew_days"]), digits(day["shift_hours"])
    return [
        Line("day-shift", "Shift", "paid hours of a day", shift, "h"),
        *parts,
        Line("day-on-site", "Left on site", "shift less the parts above", digits(on_site), "h"),
        Line(
            "day-productive",
            "Productive hours",
            f"{digits(on_site)} × {digits(day['work_minutes_per_hour'])} of 60 minutes{_heat(day)}",
            productive,
            "h",
        ),
        Line("allowance", "Personal and fatigue allowance", how, digits(stretch), ""),
        Line("crew-days", "Crew-days", f"{digits(hours)} × {digits(stretch)} ÷ ({sent} × {productive})", days, "days"),
        Line("crew-hours", "Crew-hours", f"{days} × {shift}", digits(day["crew_hours"]), "h"),
        Line(
            "paid-hours",
            "Paid person-hours",
            f"{digits(day['crew_hours'])} × {sent} people",
            digits(day["paid_person_hours"]),
            "h",
        ),
    ]


def _field_hours(told: Told) -> float | None:
    found: float | None = told.get("field_person_hours", {}).get("likely")
    return found


def _allowance(day: Told) -> tuple[float, str]:
    share = digits(day["allowance"])
    if day["allowance_basis"] == "job":
        return 1 + day["allowance"], f"{percent(day['allowance'])} of the job's time: 1 + {share}"
    return 1 / (1 - day["allowance"]), f"{percent(day['allowance'])} of the shift: 1 ÷ (1 − {share})"


def _heat(day: Told) -> str:
    degrees = day.get("air_temperature_f")
    return "" if degrees is None else f" ({digits(degrees)} °F, {day['workload']} work, by the heat table)"


def quantity_lines(told: Told) -> list[Line]:
    """Where stems that nobody counted, debris, mix, product, bags, fuel and blades are from."""
    return [_quantity_line(line) for line in told.get("quantities", [])]


def _quantity_line(line: Told) -> Line:
    what = f"{line['what']}: {line['component']}" if line["component"] else line["what"]
    return Line(
        "quantity",
        what[:1].upper() + what[1:],
        _quantity_words(line),
        digits(line["value"]),
        unit(line["unit"], one=line["value"] == 1),
    )


def _quantity_words(line: Told) -> str:
    if line["sum_of"]:
        return f"sum of the lines “{line['sum_of']}” above"
    product = " × ".join(_factor_words(factor) for factor in line["factors"])
    divided = product if line["divisor"] == 1 else f"{product} ÷ {digits(line['divisor'])}"
    return f"{divided}, rounded up" if line["rounded_up"] else divided


def _factor_words(factor: Told) -> str:
    name, value = factor_name(factor["name"]), digits(factor["value"])
    if factor["rate_row"]:
        return f"{value} (row {factor['rate_row']}: {name}, {unit_words(factor['unit'])}; {factor['source']})"
    return f"{value} {unit(factor['unit'])}".rstrip() + f" ({name})"


@dataclass(frozen=True)
class MoneyLine:
    """`amount` has four decimals; the exact one is in `amount_e4`."""

    category: str
    what: str
    quantity: str
    price: str
    amount: str
    source: str
    how: str


PRICED_BY = {"l": "L"}
SMALL_WORDS = {"ul": "µL", "0.001 mile": "thousandths of a mile", "0.001 blade": "thousandths of a blade"}


def money_lines(told: Told) -> list[MoneyLine]:
    """Every line of the bill: whole quantities of a small unit, times an exact price."""
    found = told.get("money", {}).get("lines", [])
    return [_money_line(line, told) for line in found]


def _money_line(line: Told, told: Told) -> MoneyLine:
    per, parts = PRICED_BY.get(line["price_unit"], line["price_unit"]), line["units_in_priced_unit"]
    quantity = (
        f"{line['quantity']:,} {SMALL_WORDS.get(line['unit'], line['unit'])}" if parts > 1 else f"{line['quantity']:,}"
    )
    shown = f"{quantity} = {digits(line['quantity_shown'])} {per}" if parts > 1 else f"{quantity} {per}"
    return MoneyLine(
        category=line["category"],
        what=line["what"],
        quantity=shown,
        price=f"${_price(line['price_e4'])} per {per}",
        amount=f"${float(Fraction(line['amount_e4']) / 10_000):,.4f}",
        source=line["source"],
        how=_where_from(line, told),
    )


def _price(price_e4: str) -> str:
    exact = Fraction(price_e4)
    if exact.denominator == 1:
        return f"{float(exact / 10_000):,.4f}".removesuffix("00")
    return f"{float(exact / 10_000):,.4f} (exactly {exact.numerator:,} ÷ {10_000 * exact.denominator:,})"


def _where_from(line: Told, told: Told) -> str:
    """How a quantity follows from the hours above."""
    what, day = line["what"], told.get("crew_day", {})
    if what.startswith("field work: "):
        return _skill_hours(what.removeprefix("field work: "), told)
    if what.startswith("rest of the paid day"):
        return f"{digits(day['paid_person_hours'])} paid h − {digits(_field_hours(told))} field h"
    if line["category"] == "mileage" and "round_trip_miles" in day:
        return f"{digits(day['crew_days'])} crew-days × {digits(day['round_trip_miles'])} miles"
    if line["category"] == "equipment":
        return f"{digits(_field_hours(told))} field h ÷ {digits(day['crew_sent'])} people"
    return ""


def _skill_hours(skill: str, told: Told) -> str:
    steps: Sequence[Told] = [step for step in told["steps"] if step["skill"] == skill]
    summed = " + ".join(digits(step["hours"]) for step in steps)
    return f"({summed}) h × {digits(told['pace']['stretch'])}"


CATEGORIES = (("labor", "Labor"), ("material", "Material"), ("equipment", "Equipment"), ("mileage", "Mileage"))


@dataclass(frozen=True)
class Category:
    code: str
    name: str
    cents: int
    lines: tuple[MoneyLine, ...]


def categories(told: Told) -> list[Category]:
    """Each category's lines and its one rounding."""
    money = told.get("money", {})
    lines = money_lines(told)
    return [
        Category(code, name, money[f"{code}_cents"], tuple(line for line in lines if line.category == code))
        for code, name in CATEGORIES
        if f"{code}_cents" in money
    ]
