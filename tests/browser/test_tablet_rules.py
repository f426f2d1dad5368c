"""What the tablet works out by itself, against the office's own arithmetic."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from orders.commands.doubts.chemicals import checks_of
from orders.field.services.daysheets import LineStated, shares_of
from orders.workorders.deviations import deviations_of
from orders.workorders.models import WorkOrder
from tests import build
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
OUTSIDE = """async ([card, products, uses]) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const { deviations } = await import(root + "parts/strengths.js");
  const known = new Map(products.map((one) => [one.code, one]));
  return uses.map((use) => deviations(card, known, use).map(({ code, product }) => [code, product]));
}"""
BESIDE = """async ([days]) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const { checksBeside } = await import(root + "parts/strengths.js");
  return days.map(({ checks, use }) => checksBeside(checks, use).map((one) => one.id));
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


UNITS, VALUES = ("mL", "g"), (100, 199, 200, 201, 400)


def _use(chance):
    """A use of one mix on one patch, beside what its label allows."""
    return {
        "unit": chance.choice(["mL", "mL", *UNITS]),
        "value": chance.choice(VALUES),
        "method": chance.choice(["spot-foliar", "spot-foliar", "cut-stem"]),
        "percent": chance.choice([None, 1.0, 2.0, 3.0]),
        "l_per_ha": chance.choice([None, 0.4, 0.8, 2.0]),
        "area_m2": chance.choice([None, 500.0, 1000.0, 4000.0]),
    }


def _card(use):
    """Of a label that allows one method alone."""
    told = {"method": "spot-foliar", "max_percent_vv": use["percent"], "max_l_per_ha": use["l_per_ha"]}
    return {"products": [{"code": "herb", "name": "Herb", "uses": [told]}]}


def _batch(unit, value, product):
    return build.MixBatchFactory(parts=[{"product": product, "entered_unit": unit, "amount": value * 1000}])


def _outside_by_the_office(applied, use, methods, batches):
    applied.batch = batches[use["unit"], use["value"]]
    applied.area_m2 = use["area_m2"]
    applied.prescription.method = methods[use["method"]]
    return [[one.code, one.product] for one in deviations_of(applied, (), _card(use))]


def test_it_finds_what_is_outside_a_label_as_the_office_does(program):
    chance = random.Random(20_261_129)
    methods = {code: build.MethodFactory(code=code) for code in ("spot-foliar", "cut-stem")}
    product = build.ProductFactory(code="herb", name="Herb")
    batches = {(unit, value): _batch(unit, value, product) for unit in UNITS for value in VALUES}
    asked = build.PrescriptionFactory(estimate__method=methods["spot-foliar"])
    applied = build.ApplicationFactory(batch=batches["mL", 200], prescription=asked)
    products = [{"code": "herb", "name": "Herb", "is_herbicide": True, "methods": ["spot-foliar"]}]
    seen = set()
    for use in (_use(chance) for _ in range(120)):
        part = {"product": "herb", "value": str(use["value"]), "unit": use["unit"]}
        mixed = {"parts": [part], "volume_ul": applied.batch.volume_ul, "method": use["method"]}
        told = {**mixed, "used_ul": applied.volume_ul, "area_m2": use["area_m2"]}
        [found] = program.evaluate(OUTSIDE, [_card(use), products, [told]])
        assert found == _outside_by_the_office(applied, use, methods, batches), use
        seen |= {code for code, _ in found}
    assert seen == {"strength", "rate", "method"}


def test_it_looks_at_the_same_checks_of_the_weather_as_the_office(program):
    chance = random.Random(20_261_130)
    first = build.ApplicationFactory()
    counted = set()
    for number in range(15):
        noon = datetime(2027, 5, 4, 16, tzinfo=UTC) + timedelta(days=number)
        same = {"site": first.site, "order": first.order, "work_date": noon.date()}
        over = noon + timedelta(minutes=40)
        applied = build.ApplicationFactory(batch=first.batch, started_at=noon, at=over, **same)
        checks = [
            build.WeatherCheckFactory(at=noon + timedelta(minutes=minute), purpose=purpose, **same)
            for minute, purpose in _checks(chance)
        ]
        told = [{"id": str(one.public_id), "at": _moment(one.at), "purpose": one.purpose} for one in checks]
        use = {"started_at": _moment(noon), "ended_at": _moment(over)}
        [found] = program.evaluate(BESIDE, [[{"checks": told, "use": use}]])
        assert found == [str(one.public_id) for one in checks_of(applied)]
        counted.add(len(found))
    assert len(counted) > 1


def _checks(chance):
    """Minutes from the begin of the use, and what the check is of."""
    minutes = sorted(chance.sample(range(-60, 120, 7), 4))
    return [(minute, chance.choice(["start", "during", "end"])) for minute in minutes]


def _moment(at):
    """As a browser writes it."""
    return at.strftime("%Y-%m-%dT%H:%M:%S.000Z")
