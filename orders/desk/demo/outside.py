"""What a crew lead does on the tablet on one day of an order, written down as its commands."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from orders.crews.models import Person
from orders.crews.selectors import crew_people
from orders.desk.demo.tablet import DemoTablet
from orders.planning.models import Prescription, Visit
from orders.supplies.models import StockLot
from orders.workorders.models import WorkOrder
from orders.workorders.records.draft import record_draft
from orders.workorders.records.groups import RecordGroup
from orders.workorders.records.rules import Rules
from orders.workorders.statements import MaterialStated, Statement
from orders.workorders.who_may import Use, may_mix

UL_PER_ML, UL_PER_L = 1_000, 1_000_000
# Invented weather and drive of the demo's days.
CONDITIONS = {"air_temperature_c": 14.0, "relative_humidity_percent": 55.0, "wind_m_s": 2.0, "wind_from_deg": 240}
DRIVE_MINUTES = 30


def morning_say(tablet: DemoTablet, order: WorkOrder, visit: Visit, at: datetime) -> str:
    """Check in, the tailgate briefing, the start; the id of the check-in is returned."""
    people = [str(person.public_id) for person in crew_people(order.crew, visit.day)]
    check_in = tablet.own_id()
    where = {"crew": order.crew.public_id, "site": order.site.public_id}
    body = {"id": check_in, **where, "back_by": at + timedelta(hours=9), "people": people}
    tablet.say("check-in", body, at=at)
    briefing = {
        "id": tablet.own_id(),
        **where,
        "led_by": people[0],
        "orders": [order.public_id],
        "people": people,
        "conditions": CONDITIONS,
        "computed": {},
        "hazards": [
            {"code": "ticks", "control": "Repellent, and a look at each other at noon."},
            {"code": "poison-ivy", "control": "Sleeves and gloves; wash at once."},
        ],
    }
    tablet.say("briefing", briefing, at=at + timedelta(minutes=5))
    tablet.say("start-order", {}, at=at + timedelta(minutes=15), order=order.public_id)
    return check_in


def spraying_say(
    tablet: DemoTablet, order: WorkOrder, visit: Visit, materials: Sequence[MaterialStated], at: datetime
) -> dict[str, Any]:
    """Weather, one batch with all of its lots, one application, weather again, and the end of the mix's day. What
    names the record that is then owed is returned."""
    lead = _applicator(order, visit)
    lots = {lot.public_id: lot for lot in StockLot.objects.select_related("product")}
    batch, ended = tablet.own_id(), at + timedelta(hours=2)
    volume_ul = _mixed_ul(visit)
    _weather_say(tablet, order, visit, batch, "start", at)
    tablet.say("mix-batch", _batch(order, visit, lead, lots, materials, batch, volume_ul), at=at)
    for asked in _served(visit):
        body = _application(tablet, order, visit, lead, asked, batch, at, ended)
        body["volume_ul"] = volume_ul // len(_served(visit))
        tablet.say("application", body, at=ended, order=order.public_id)
    _weather_say(tablet, order, visit, batch, "end", ended)
    left = volume_ul - volume_ul // len(_served(visit)) * len(_served(visit))
    end = {
        "id": tablet.own_id(),
        "batch": batch,
        "work_date": visit.day,
        "carried_over_ul": 0,
        "disposed_ul": left,
        "rinsate": "Sprayed out on the treated patches",
        "empties": 1,
        "empties_note": "Rinsed three times, taken to the shop",
    }
    tablet.say("mix-day-end", end, at=ended + timedelta(minutes=20))
    where = {"site": order.site.public_id, "work_date": visit.day, "responsible": lead.public_id}
    return {"batch": batch, **where, "signed_by": lead.name}


def _applicator(order: WorkOrder, visit: Visit) -> Person:
    """The first of the crew who is certified there on that day; the order was not issued without one."""
    use = Use(order.site, visit.day, Rules.read().of(order.site.jurisdiction.code, visit.day))
    return next(person for person in crew_people(order.crew, visit.day) if may_mix(person, use).allowed)


def _served(visit: Visit) -> list[Prescription]:
    shares = visit.shares.select_related("prescription__estimate", "prescription__method").order_by("prescription_id")
    return [share.prescription for share in shares if share.prescription.estimate.products_ul]


def _mixed_ul(visit: Visit) -> int:
    """What the estimates would spray on this visit, a little more than is used."""
    shares = visit.shares.select_related("prescription__estimate")
    liters = sum(
        share.prescription.estimate.spray_volume_l * share.prescription.share_left * share.share for share in shares
    )
    return round(liters * UL_PER_L)


def _batch(
    order: WorkOrder,
    visit: Visit,
    lead: Person,
    lots: dict[Any, StockLot],
    materials: Sequence[MaterialStated],
    batch: str,
    volume_ul: int,
) -> dict[str, Any]:
    taken: dict[Any, Decimal] = {}
    for each in materials:
        taken[each.lot] = taken.get(each.lot, Decimal(0)) + each.value
    parts = [
        {"product": lots[lot].product.code, "lot": lot, "value": f"{value}", "unit": "mL"}
        for lot, value in taken.items()
    ]
    return {
        "id": batch,
        "crew": order.crew.public_id,
        "site": order.site.public_id,
        "work_date": visit.day,
        "mixed_by": lead.public_id,
        "carrier_ul": volume_ul - sum(round(value * UL_PER_ML) for value in taken.values()),
        "volume_ul": volume_ul,
        "container": f"D{order.number}",
        "parts": parts,
    }


def _application(
    tablet: DemoTablet,
    order: WorkOrder,
    visit: Visit,
    lead: Person,
    asked: Prescription,
    batch: str,
    at: datetime,
    ended: datetime,
) -> dict[str, Any]:
    return {
        "id": tablet.own_id(),
        "batch": batch,
        "visit": visit.public_id,
        "prescription": asked.public_id,
        "site": order.site.public_id,
        "work_date": visit.day,
        "responsible": lead.public_id,
        "people": [lead.public_id],
        "started_at": at + timedelta(minutes=15),
        "ended_at": ended,
        "area_m2": round(asked.estimate.survey.gross_area_m2 / 2, 1),
        "equipment": "Backpack sprayer",
    }


def _weather_say(tablet: DemoTablet, order: WorkOrder, visit: Visit, batch: str, purpose: str, at: datetime) -> None:
    body = {
        "id": tablet.own_id(),
        "site": order.site.public_id,
        "work_date": visit.day,
        "purpose": purpose,
        "inversion_signs": False,
        "rain_expected_hours": 24,
        "sky": "Clear",
        **CONDITIONS,
    }
    if purpose == "end":
        body["batch"] = batch
    tablet.say("weather-check", body, at=at, order=order.public_id)


def record_say(tablet: DemoTablet, group: RecordGroup, where: dict[str, Any], at: datetime) -> None:
    """What the facts tell, signed by the lead, apart from closing the order."""
    body = {"id": tablet.own_id(), **where, "values": record_draft(group)}
    tablet.say("application-record", body, at=at)


def close_say(tablet: DemoTablet, order: WorkOrder, statement: Statement) -> None:
    body = {
        "id": tablet.own_id(),
        "work_date": statement.work_date,
        "happened_at": statement.happened_at,
        "confirmed_by": statement.confirmed_by,
        "outcomes": [
            {"prescription": one.prescription, "percent_complete": one.percent_complete} for one in statement.outcomes
        ],
        "times": [
            {
                "id": tablet.own_id(),
                "visit": one.visit,
                "person": one.person,
                "minutes": one.minutes,
                "origin": one.origin,
            }
            for one in statement.times
        ],
        "materials": [
            {
                "id": tablet.own_id(),
                "visit": one.visit,
                "lot": one.lot,
                "value": f"{one.value}",
                "unit": one.unit,
                "prescription": one.prescription,
            }
            for one in statement.materials
        ],
        "condition": statement.condition,
        "weather": statement.weather,
    }
    tablet.say("close-order", body, at=statement.happened_at, order=order.public_id)


def day_say(tablet: DemoTablet, order: WorkOrder, statement: Statement, check_in: str) -> None:
    """A day sheet a person, with the drive shared over the day's orders, and out."""
    worked: dict[Any, int] = {}
    for one in statement.times:
        worked[one.person] = worked.get(one.person, 0) + one.minutes
    at = statement.happened_at + timedelta(minutes=30)
    for person, minutes in worked.items():
        lines = [
            {"code": "work", "order": order.public_id, "minutes": max(1, minutes - DRIVE_MINUTES), "origin": "timer"},
            {"code": "drive", "minutes": DRIVE_MINUTES, "origin": "typed"},
        ]
        body = {
            "id": tablet.own_id(),
            "crew": order.crew.public_id,
            "person": person,
            "work_date": statement.work_date,
            "rule": "minutes",
            "lines": lines,
            "confirmed_by": statement.confirmed_by,
        }
        tablet.say("day-sheet", body, at=at)
    tablet.say("check-out", {"id": tablet.own_id(), "check_in": check_in}, at=at)
