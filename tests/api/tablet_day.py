"""A day of work as a tablet writes it, and what must be in the database once all of it has been sent."""

from datetime import timedelta
from random import Random
from typing import Any, LiteralString
from uuid import UUID

from tests.api.fake_tablet import HAPPENED, FakeTablet
from tests.api.http_line import HttpLine

FRAME = 4  # check-in, start, close, check-out; the rest are spans of time
MINUTES_CLOSED = 900  # three people of 300 minutes
COUNTS: dict[str, LiteralString] = {
    "commands": "SELECT COUNT(*) FROM field_command",
    "applied": "SELECT COUNT(*) FROM field_command WHERE state = 'applied'",
    "check-ins": "SELECT COUNT(*) FROM field_checkin",
    "check-outs": "SELECT COUNT(*) FROM field_checkinstep",
    "spans": "SELECT COUNT(*) FROM workorders_timedspan",
    "close-outs": "SELECT COUNT(*) FROM workorders_closeout",
    "labor minutes": "SELECT COALESCE(SUM(quantity), 0) FROM costs_ledgerentry WHERE category = 'labor'",
}


def expected(tablets: int, commands: int) -> dict[str, int]:
    return {
        "commands": tablets * commands,
        "applied": tablets * commands,
        "check-ins": tablets,
        "check-outs": tablets,
        "spans": tablets * (commands - FRAME),
        "close-outs": tablets,
        "labor minutes": tablets * MINUTES_CLOSED,
    }


def tablet_open(facts: dict[str, Any], port: int, *, commands: int, drop: float, seed: int) -> FakeTablet:
    """A tablet with its day in the outbox, on a line that loses a share of the replies."""
    line = HttpLine(port, facts["token"], Random(seed), drop)
    tablet = FakeTablet(line, UUID(facts["user"]), Random(seed + 1_000_000))
    crew, order = facts["crew"], UUID(facts["order"])
    check_in = {"id": tablet.own_id(), "crew": crew, "site": facts["site"], "people": [facts["person"]]}
    tablet.write("check-in", {**check_in, "back_by": (HAPPENED + timedelta(hours=4)).isoformat()})
    tablet.write("start-order", {}, order)
    for _ in range(commands - FRAME):
        tablet.write("time-span", _span(tablet, facts), order)
    tablet.close(order, facts["statement"])
    tablet.write("check-out", {"id": tablet.own_id(), "check_in": check_in["id"]})
    return tablet


def _span(tablet: FakeTablet, facts: dict[str, Any]) -> dict[str, Any]:
    named = {"id": tablet.own_id(), "crew": facts["crew"], "person": facts["person"]}
    return {**named, "work_date": "2027-02-01", "code": "work", "minutes": 5, "origin": "typed"}
