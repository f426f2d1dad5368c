"""A held close-out beside the one that stands, line by line."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from orders.bodies.statements import statement
from orders.commands.envelope import Unreadable, content_read
from orders.crews.models import Person
from orders.field.models import Command
from orders.planning.models import Prescription
from orders.supplies.models import StockLot
from orders.workorders.models import CloseOut
from orders.workorders.selectors import close_out_standing
from orders.workorders.statements import Statement

Figures = dict[tuple[str, str], Any]  # group and name -> what is stated


@dataclass(frozen=True)
class Line:
    """`group` is of: statement, outcomes, people, materials. None where the one side says nothing of it."""

    group: str
    name: str
    standing: Any
    held: Any

    @property
    def differs(self) -> bool:
        return bool(self.standing != self.held)


@dataclass(frozen=True)
class Sides:
    standing: CloseOut
    command: Command
    lines: list[Line]


def close_outs_compared(command: Command) -> Sides | None:
    """None where it is no close-out, cannot be read, or nothing stands against it."""
    standing = close_out_standing(command.order) if command.order and command.kind == "close-order" else None
    if standing is None:
        return None
    try:
        held = of_statement(statement(content_read(command.raw).body))
    except Unreadable:
        return None
    stands = _of_close_out(standing)
    names = list(dict.fromkeys([*stands, *held]))
    lines = [Line(group, name, stands.get((group, name)), held.get((group, name))) for group, name in names]
    order = ["statement", "outcomes", "people", "materials"]
    return Sides(standing, command, sorted(lines, key=lambda line: order.index(line.group)))


def _of_close_out(close_out: CloseOut) -> Figures:
    found = _head(close_out)
    for outcome in close_out.outcomes.select_related("prescription__patch", "prescription__method"):
        found["outcomes", _work(outcome.prescription)] = outcome.percent_complete
    minutes: dict[str, int] = defaultdict(int)
    for entry in close_out.time_entries.select_related("person"):
        minutes[entry.person.name] += entry.minutes
    for use in close_out.material_uses.select_related("lot__product"):
        key = ("materials", f"{_lot(use.lot)}, {use.entered_unit}")
        found[key] = found.get(key, 0) + use.entered_value
    return found | {("people", name): total for name, total in minutes.items()}


def of_statement(stated: Statement) -> Figures:
    found = _head(stated)
    works = Prescription.objects.select_related("patch", "method").in_bulk(
        [outcome.prescription for outcome in stated.outcomes], field_name="public_id"
    )
    people = Person.objects.in_bulk([time.person for time in stated.times], field_name="public_id")
    lots = StockLot.objects.select_related("product").in_bulk(
        [material.lot for material in stated.materials], field_name="public_id"
    )
    for outcome in stated.outcomes:
        found["outcomes", _named(works, outcome.prescription, _work)] = outcome.percent_complete
    for time in stated.times:
        key = ("people", _named(people, time.person, str))
        found[key] = found.get(key, 0) + time.minutes
    for material in stated.materials:
        key = ("materials", f"{_named(lots, material.lot, _lot)}, {material.unit}")
        found[key] = found.get(key, 0) + material.value
    return found


def _head(stated: CloseOut | Statement) -> Figures:
    return {
        ("statement", "Last day of work"): stated.work_date,
        ("statement", "Stated at"): stated.happened_at,
        ("statement", "Confirmed by"): stated.confirmed_by,
        ("statement", "Condition"): stated.condition,
        ("statement", "Follow-up wanted"): stated.follow_up_wanted,
        ("statement", "Notes"): stated.notes,
    }


def _named(rows: dict[Any, Any], key: UUID, shown: Any) -> str:
    return str(shown(rows[key])) if key in rows else f"not known here ({key})"


def _work(prescription: Prescription) -> str:
    return f"{prescription.patch.code}, {prescription.method.name}"


def _lot(lot: StockLot) -> str:
    return f"{lot.product.name}, lot {lot.lot_number}"
