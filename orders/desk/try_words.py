"""An estimate as it stands beside the same tried under other conditions, in words and rows."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from estimating.crewday import ACCLIMATIZATION, HEAT_FROM_F
from orders.desk.chart_svg import Chart
from orders.desk.charts import paired_bars
from orders.desk.templatetags.desk import money
from orders.desk.templatetags.units import MINUS, NOT_KNOWN, area, decimals, digits, milliliters, percent, volume
from orders.estimates.trying import Figures, Tried

# The table and the shares themselves: estimating/crewday.py.
WORK_REST_SOURCE = "NIOSH 2016-106"
WORK_REST_ADDRESS = "http://www.cdc.gov/niosh/mining/content/heatstressworkrest.html"
ACCLIMATIZATION_SOURCE = "NIOSH, acclimatization: share of the usual time in heat, by day"
NAMES = ("As estimated", "As tried")
NO_DIFFERENCE, NOT_KEPT = "same", "not kept"

Told = Mapping[str, Any]
Write = Callable[[Any], str]


@dataclass(frozen=True)
class Row:
    """`key` names the row for those who read the page by machine."""

    key: str
    what: str
    old: str
    new: str
    difference: str


@dataclass(frozen=True)
class Group:
    name: str
    rows: tuple[Row, ...]


def _hours(value: float) -> str:
    return f"{decimals(value, 1)} h"


def _days(value: float) -> str:
    return decimals(value, 2)


def _microliters(value: float) -> str:
    return str(milliliters(value / 1000))


TIME: tuple[tuple[str, str, Write], ...] = (
    ("hours_low", "Field person-hours, low", _hours),
    ("hours_likely", "Field person-hours, likely", _hours),
    ("hours_high", "Field person-hours, high", _hours),
    ("paid_person_hours", "Paid person-hours", _hours),
    ("crew_hours", "Crew-hours", _hours),
    ("crew_days", "Crew-days", _days),
)
COST: tuple[tuple[str, str, Write], ...] = (
    ("labor_cents", "Labor, standard rates", money),
    ("material_cents", "Material", money),
    ("equipment_cents", "Equipment", money),
    ("mileage_cents", "Mileage", money),
    ("total_cents", "Likely cost", money),
    ("cost_low_cents", "Low", money),
    ("cost_high_cents", "High", money),
    ("contingency_cents", "Contingency on top", money),
)
MATERIAL: tuple[tuple[str, str, Write], ...] = (
    ("treated_area_m2", "Treated area", area),
    ("spray_volume_l", "Mix", volume),
    ("tank_loads", "Tank loads", digits),
)
BARS = (
    ("Field person-hours", "hours_likely"),
    ("Paid person-hours", "paid_person_hours"),
    ("Crew-hours", "crew_hours"),
)


def _row(key: str, what: str, old: float | None, new: float | None, write: Write) -> Row:
    was, now = (NOT_KEPT if value is None else write(value) for value in (old, new))
    if old is None or new is None:
        return Row(key, what, was, now, NOT_KNOWN)
    change = new - old
    difference = f"{MINUS if change < 0 else '+'}{write(abs(change))}"
    return Row(key, what, was, now, NO_DIFFERENCE if was == now else difference)


def _rows(lines: tuple[tuple[str, str, Write], ...], old: Figures, new: Figures) -> tuple[Row, ...]:
    return tuple(_row(key, what, getattr(old, key), getattr(new, key), write) for key, what, write in lines)


def groups(old: Figures, new: Figures, names: Mapping[str, str]) -> list[Group]:
    """Time, cost and, where there is a mix on either side, what goes out of the store."""
    products = tuple(
        _row(
            f"product-{code}", names.get(code, code), old.products_ul.get(code, 0), new.products_ul.get(code, 0), write
        )
        for code, write in dict.fromkeys((code, _microliters) for code in (*old.products_ul, *new.products_ul))
    )
    material = _rows(MATERIAL, old, new) if products or old.spray_volume_l or new.spray_volume_l else ()
    found = [Group("Time", _rows(TIME, old, new)), Group("Cost", _rows(COST, old, new))]
    return found + ([Group("Mix and products", material + products)] if material else [])


def charts(old: Figures, new: Figures) -> list[Chart]:
    hours = [(what, getattr(old, name), getattr(new, name)) for what, name in BARS]
    cost = [(what, getattr(old, name) / 100, getattr(new, name) / 100) for name, what, _ in COST[:5]]
    return [paired_bars("Hours", hours, "h", NAMES), paired_bars("Cost", cost, "$", NAMES)]


def reasons(then: Told, now: Told) -> tuple[Row, ...]:
    """What the hours follow from; an estimate of the first arithmetic kept less of it."""
    return tuple(
        _row(key, what, then.get(part, {}).get(key), now[part][key], write)
        for part, key, what, write in (
            ("pace", "standard_person_hours", "Standard person-hours: a trained crew with room", _hours),
            ("pace", "crew_sent", "People sent", digits),
            ("pace", "crowding", "Crowding: hours are multiplied by it", digits),
            ("pace", "heat_share", "Share of the day that people new to heat leave to the crew", percent),
            ("pace", "pace", "Pace: hours are divided by it", digits),
            ("pace", "effective_people", "People in effect", digits),
            ("crew_day", "work_minutes_per_hour", "Minutes of work in each hour", digits),
            ("crew_day", "productive_hours", "Productive hours in a shift", _hours),
        )
    )


@dataclass(frozen=True)
class HeatDay:
    """Share of the usual time in heat on a day, for both kinds of people."""

    day: int
    new: str
    returning: str
    is_asked: bool


@dataclass(frozen=True)
class Heat:
    """`told`: the work and rest of an hour in words; `days` only where people are new to heat and it counts."""

    told: str
    days: tuple[HeatDay, ...]


def heat(tried: Tried, work_minutes: float) -> Heat | None:
    """Nothing where no air temperature was asked."""
    day = tried.day
    if day.air_temperature_f is None:
        return None
    where = f"At {digits(day.air_temperature_f)} °F, {day.workload} work"
    if work_minutes == 0:
        told = f"{where} stops: no time of the hour is left for it."
    elif work_minutes < 60:
        told = f"{where}: {digits(work_minutes)} minutes of work and {digits(60 - work_minutes)} of rest in each hour."
    else:
        told = f"{where} goes on as usual, with water and breaks."
    counts = day.air_temperature_f >= HEAT_FROM_F and day.new_workers + day.returning_workers > 0
    return Heat(told, _heat_days(day.day_in_heat) if counts else ())


def _heat_days(asked: int) -> tuple[HeatDay, ...]:
    new, returning = ACCLIMATIZATION["new"], ACCLIMATIZATION["returning"]
    last = max(len(new), len(returning))
    return tuple(
        HeatDay(
            number,
            str(percent(new[min(number, len(new)) - 1])),
            str(percent(returning[min(number, len(returning)) - 1])),
            number == min(asked, last),
        )
        for number in range(1, last + 1)
    )
