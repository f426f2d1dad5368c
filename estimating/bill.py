"""The money of jobs as lines, each an exact product that can be done again with a pencil.

    amount = quantity / units_in_priced_unit x price

with whole quantities of a small unit (seconds, microliters, thousandths of a mile) and prices of 1/10,000 dollar. The
amounts of a category are summed exactly and rounded to the cent once. `moves_with` says which of the range's errors a
line shares: "hours" or "survey" (see `money.py`).
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from estimating.amounts import Materials
from estimating.columns import FloatArray
from estimating.crewday import PaidTime
from estimating.inputs import CrewDay, Prices
from estimating.money import crew_rate_e4, equipment_seconds, labor_seconds, mileage_parts, whole
from estimating.pricing import MICROLITRES_PER_LITRE, PARTS_PER_BLADE, PARTS_PER_MILE
from estimating.units import SECONDS_PER_HOUR

E4_PER_DOLLAR = 10_000
# Small unit of a quantity, by the unit its price is for, and how many make one.
SMALL_UNITS: Mapping[str, tuple[str, int]] = {
    "h": ("s", SECONDS_PER_HOUR),
    "l": ("ul", MICROLITRES_PER_LITRE),
    "mile": ("0.001 mile", PARTS_PER_MILE),
    "blade": ("0.001 blade", PARTS_PER_BLADE),
    "bag": ("bag", 1),
}
SHOWN_PLACES = 4


@dataclass(frozen=True)
class LineColumn:
    """One line of each job: what, how much of it in the small unit, the exact price of a unit and where it is from."""

    category: str
    what: str
    quantities: list[int]
    price_unit: str
    price_e4: Fraction
    source: str
    moves_with: str

    def plain(self) -> list[dict[str, Any] | None]:
        """The lines as JSON knows them; None where nothing is used or it costs nothing.

        Exact figures are text such as "920002/3", shown ones have four places.
        """
        if not self.price_e4:
            return [None] * len(self.quantities)
        unit, parts = SMALL_UNITS[self.price_unit]
        price, price_shown = str(self.price_e4), _shown(*self.price_e4.as_integer_ratio())
        per_unit = parts * self.price_e4.denominator
        found: list[dict[str, Any] | None] = []
        for quantity in self.quantities:
            if not quantity:
                found.append(None)
                continue
            amount = quantity * self.price_e4.numerator
            found.append(
                {
                    "category": self.category,
                    "what": self.what,
                    "quantity": quantity,
                    "unit": unit,
                    "units_in_priced_unit": parts,
                    "quantity_shown": round(quantity / parts, SHOWN_PLACES),
                    "price_e4": price,
                    "price_unit": self.price_unit,
                    "price_shown": price_shown,
                    "amount_e4": _ratio_text(amount, per_unit),
                    "amount_shown": _shown(amount, per_unit),
                    "source": self.source,
                    "moves_with": self.moves_with,
                }
            )
        return found


def _ratio_text(numerator: int, denominator: int) -> str:
    """An exact ratio as `Fraction` writes it, without making one."""
    common = math.gcd(numerator, denominator)
    whole_part, rest = numerator // common, denominator // common
    return str(whole_part) if rest == 1 else f"{whole_part}/{rest}"


def _shown(numerator: int, denominator: int) -> str:
    """Dollars of an exact ratio in 1/10,000 dollar."""
    return f"{numerator / (denominator * E4_PER_DOLLAR):.{SHOWN_PLACES}f}"


def labor_lines(
    prices: Prices, crew_day: CrewDay, skill_hours: Mapping[str, FloatArray], time: PaidTime
) -> Iterator[LineColumn]:
    """Field hours by skill, then the rest of the paid day at the crew's average rate, an exact ratio."""
    by_skill, other = labor_seconds(skill_hours, time)
    for skill, seconds in by_skill.items():
        rate = Fraction(prices.skill_rate_e4(skill))
        source = f"standard rate: {prices.skill_role[skill]}"
        yield LineColumn("labor", f"field work: {skill}", seconds.tolist(), "h", rate, source, "hours")
    average = Fraction(crew_rate_e4(prices, crew_day), crew_day.size)
    what = "rest of the paid day: drive, walk-in, set-up, breaks"
    yield LineColumn("labor", what, other.tolist(), "h", average, "standard rates: average of the crew", "hours")


def material_lines(prices: Prices, materials: Materials) -> Iterator[LineColumn]:
    """Products and bags, fuel and blades."""
    for product, volume_l in materials.product_l.items():
        volume_ul = whole(volume_l, MICROLITRES_PER_LITRE).tolist()
        source = prices.product_source.get(product, "price list")
        price = Fraction(prices.product_price_e4(product))
        yield LineColumn("material", product, volume_ul, "l", price, source, "survey")
    rest = (
        ("debris bags", materials.bags, 1, "bag", prices.bag_e4, "survey"),
        ("fuel", materials.fuel_l, MICROLITRES_PER_LITRE, "l", prices.fuel_e4_per_l, "hours"),
        ("blades", materials.blades, PARTS_PER_BLADE, "blade", prices.blade_e4, "hours"),
    )
    for what, amount, scale, unit, price_e4, moves_with in rest:
        quantities = whole(amount, scale).tolist()
        yield LineColumn("material", what, quantities, unit, Fraction(price_e4), "price list", moves_with)


def travel_lines(prices: Prices, method: str, time: PaidTime, round_trip_km: FloatArray) -> Iterator[LineColumn]:
    """One vehicle's round trip each crew-day, and the method's equipment while the people sent work."""
    parts = mileage_parts(time.crew_days, round_trip_km).tolist()
    rate = Fraction(prices.mileage_e4_per_mile)
    yield LineColumn("mileage", "vehicle: crew-days x round trip", parts, "mile", rate, "price list", "hours")
    rate = Fraction(prices.equipment_e4_per_hour.get(method, 0))
    seconds = equipment_seconds(time).tolist()
    yield LineColumn("equipment", "equipment: field crew-hours", seconds, "h", rate, "price list", "hours")


def lines_of_jobs(
    *,
    prices: Prices,
    crew_day: CrewDay,
    method: str,
    time: PaidTime,
    skill_hours: Mapping[str, FloatArray],
    materials: Materials,
    round_trip_km: FloatArray,
) -> list[list[dict[str, Any]]]:
    """By job of a method all lines that cost something, as plain values; every array is by job."""
    columns = [
        column.plain()
        for column in (
            *labor_lines(prices, crew_day, skill_hours, time),
            *material_lines(prices, materials),
            *travel_lines(prices, method, time, round_trip_km),
        )
    ]
    return [[line for line in lines if line is not None] for lines in zip(*columns, strict=True)]
