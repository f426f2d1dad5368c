"""What the tablet works out by itself, against the office's own arithmetic."""

import random

import pytest

from orders.field.services.daysheets import LineStated, shares_of
from orders.workorders.models import WorkOrder
from tests.estimating.safety_grid import LIMITS, safety_grid

pytestmark = pytest.mark.browser
LABEL = {"products": [{"code": "g", "name": "Invented G", "weather": list(LIMITS), "rain_free_hours": 6.0}]}
# What the tablet calls a finding, and what the office does.
CODES = {
    "wind_low": "weather-wind",
    "wind_high": "weather-wind",
    "temperature_low": "weather-temperature",
    "temperature_high": "weather-temperature",
    "gust_high": "weather-gust",
    "not_measured": "weather-not-measured",
    "rain": "weather-rain",
    "inversion": "weather-inversion",
    "calm": "weather-calm",
}
BORNE = """async ([days]) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const { borne } = await import(root + "parts/daysheet.js");
  return days.map(({ lines, numbers, rule }) => Object.fromEntries(borne(lines, new Map(numbers), rule)));
}"""
JUDGED = """async ([label, readings]) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const { findings, verdict } = await import(root + "parts/limits.js");
  return readings.map(reading => {
    const found = findings(label, reading);
    return { findings: found.map(({ code, kind }) => [code, kind]), verdict: verdict(found) };
  });
}"""


@pytest.fixture
def program(tablets, transactional_db):
    """The program as it opens before anybody is enrolled."""
    return tablets().open("/enroll")


def _day(chance):
    """A day of one person: work on some orders, drive, and now and then rain or shop."""
    orders = [f"order {number}" for number in range(chance.randint(1, 5))]
    numbers = dict(zip(orders, chance.sample(range(1, 99), len(orders)), strict=True))
    worked = [order for order in orders for _ in range(chance.randint(1, 2))]
    lines: list[tuple[str, str | None, int]] = [("work", order, chance.randint(1, 500)) for order in worked]
    lines += [(code, None, chance.randint(1, 200)) for code in ("drive", "rain", "shop") if chance.random() < 0.7]
    return numbers, lines, chance.choice(["minutes", "equal"])


def _by_the_office(numbers, lines, rule):
    orders = {name: WorkOrder(pk=number, number=number) for name, number in numbers.items()}
    names = {number: name for name, number in numbers.items()}
    stated = [LineStated(code, minutes, "typed", orders.get(order)) for code, order, minutes in lines]
    found = {name: {"work": 0, "drive": 0, "rain": 0} for name in numbers}
    for line, parts in zip(stated, shares_of(stated, rule), strict=True):
        for order, minutes in parts:
            found[names[order.number]][line.code] += minutes
    for code, order, minutes in lines:
        if code == "work":
            found[order]["work"] += minutes
    return found


def test_it_shares_drive_and_standby_as_the_office_does(program):
    chance = random.Random(20_261_128)
    days = [_day(chance) for _ in range(400)]
    given = [
        {
            "lines": [{"code": code, "order": order, "minutes": minutes} for code, order, minutes in lines],
            "numbers": list(numbers.items()),
            "rule": rule,
        }
        for numbers, lines, rule in days
    ]
    assert program.evaluate(BORNE, [given]) == [_by_the_office(*day) for day in days]


def test_it_judges_weather_as_the_office_does(program):
    rows = safety_grid()["spray"]
    judged = program.evaluate(JUDGED, [LABEL, [row["given"]["reading"] for row in rows]])
    told = [
        {
            "findings": sorted([list(one) for one in {(CODES[code], kind) for code, kind in one["findings"]}]),
            "verdict": one["verdict"],
        }
        for one in judged
    ]
    assert told == [row["found"] for row in rows]
    assert {row["verdict"] for row in told} == {"go", "advised_against", "no_go"}
