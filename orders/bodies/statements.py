"""The close-out as a crew lead states it."""

from typing import Any

from orders.bodies.base import Body, many
from orders.bodies.documents import Shape
from orders.bodies.fields import Choice, Day, Exact, Flag, Id, Moment, Number, Text, Whole
from orders.bodies.optional import MAY
from orders.supplies.amounts import ENTRY_UNITS
from orders.workorders.models import TimeEntry
from orders.workorders.statements import MaterialStated, Outcome, Statement, TimeStated

MOST_ROWS = 500
PARTS = {"outcomes", "times", "materials", "reason"}  # what the statement does not take as it came


class OutcomeIn(Body):
    prescription = Id()
    percent_complete = Whole(max_value=100)
    stems_cut = Whole(**MAY)
    area_done_m2 = Number(min_value=0, max_value=1e9, **MAY)
    drawn = Shape("Polygon", **MAY, help_text="The ground that was done.")


class TimeIn(Body):
    id = Id(required=False)
    visit = Id()
    person = Id()
    minutes = Whole(min_value=1, max_value=24 * 60)
    origin = Choice(TimeEntry.ORIGINS)
    prescription = Id(required=False, allow_null=True)
    step = Text(max_length=40, allow_blank=True, default="")
    work_date = Day(**MAY, help_text="Where it was not the visit's day.")


class MaterialIn(Body):
    id = Id(required=False)
    visit = Id()
    lot = Id()
    value = Exact(help_text="Product as packaged, in the unit that was typed.")
    unit = Choice(ENTRY_UNITS)
    prescription = Id(required=False, allow_null=True)
    work_date = Day(**MAY, help_text="Where it was not the visit's day.")


class WeatherIn(Body):
    """As measured on site, all of it optional."""

    air_temperature_c = Number(min_value=-60, max_value=60, required=False)
    relative_humidity_percent = Number(min_value=0, max_value=100, required=False)
    wind_m_s = Number(min_value=0, max_value=100, required=False)
    wind_from_deg = Number(min_value=0, max_value=360, required=False)
    sky = Text(max_length=60, required=False)
    notes = Text(max_length=400, required=False)


class StatementIn(Body):
    id = Id(required=False, help_text="Of the close-out; made by the tablet.")
    work_date = Day(help_text="At the site, the last day of work.")
    happened_at = Moment()
    confirmed_by = Text(max_length=120)
    outcomes = many(OutcomeIn, most=MOST_ROWS)
    times = many(TimeIn, most=MOST_ROWS)
    materials = many(MaterialIn, most=MOST_ROWS, required=False)
    condition = Text(max_length=200, allow_blank=True, default="")
    weather = WeatherIn(required=False)
    follow_up_wanted = Flag(default=False)
    notes = Text(max_length=4000, allow_blank=True, default="")


class AmendmentIn(StatementIn):
    reason = Text(max_length=300)


def statement(body: dict[str, Any]) -> Statement:
    """The body as the domain takes it."""
    rest: dict[str, Any] = {name: value for name, value in body.items() if name not in PARTS}
    return Statement(
        outcomes=tuple(Outcome(**row) for row in body["outcomes"]),
        times=tuple(TimeStated(**_with_public_id(row)) for row in body["times"]),
        materials=tuple(MaterialStated(**_with_public_id(row)) for row in body.get("materials", [])),
        **_with_public_id(rest),
    )


def _with_public_id(row: dict[str, Any]) -> dict[str, Any]:
    return {"public_id" if name == "id" else name: value for name, value in row.items()}
