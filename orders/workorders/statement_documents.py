"""A statement as a JSON document, for the terminal and for files: read, with every fault named; written, prefilled."""

from collections.abc import Callable, Iterator
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from orders.common.errors import FieldError, Invalid
from orders.crews.selectors import crew_people
from orders.planning.models import Visit
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits
from orders.workorders.statements import MaterialStated, Outcome, Statement, TimeStated


class _Reader:
    """Reads fields one by one and keeps all faults, so that they are told at once."""

    def __init__(self) -> None:
        self.errors: list[FieldError] = []

    def get(self, values: Any, name: str, read: Callable[[Any], Any], place: str = "", row: int | None = None) -> Any:
        if not isinstance(values, dict) or values.get(name) is None:
            self.errors.append(FieldError(f"{place}{name}", "is required", row, "required"))
            return None
        return self._tried(values[name], read, f"{place}{name}", row)

    def may(self, values: Any, name: str, read: Callable[[Any], Any], otherwise: Any, **where: Any) -> Any:
        absent = not isinstance(values, dict) or values.get(name) is None
        return otherwise if absent else self.get(values, name, read, **where)

    def _tried(self, value: Any, read: Callable[[Any], Any], field: str, row: int | None) -> Any:
        try:
            return read(value)
        except (ValueError, TypeError, InvalidOperation, AttributeError):
            self.errors.append(FieldError(field, f"{value!r} cannot be read", row))
            return None

    def rows(self, values: Any, name: str) -> Iterator[tuple[int, Any]]:
        return enumerate(self.may(values, name, list, []) or [], start=1)


def _instant(value: Any) -> datetime:
    at = datetime.fromisoformat(value)
    if at.tzinfo is None:
        raise ValueError("an instant needs its offset")
    return at


def statement_read(document: Any) -> Statement:
    """The statement, or `Invalid` with every row and field that is wrong. Rules of the order come at the close."""
    reader = _Reader()
    fields: dict[str, Any] = {
        "work_date": reader.get(document, "work_date", date.fromisoformat),
        "happened_at": reader.get(document, "happened_at", _instant),
        "confirmed_by": reader.get(document, "confirmed_by", str),
        "outcomes": tuple(_outcome(reader, row, values) for row, values in reader.rows(document, "outcomes")),
        "times": tuple(_time(reader, row, values) for row, values in reader.rows(document, "times")),
        "materials": tuple(_material(reader, row, values) for row, values in reader.rows(document, "materials")),
        "condition": reader.may(document, "condition", str, ""),
        "weather": reader.may(document, "weather", dict, {}),
        "follow_up_wanted": reader.may(document, "follow_up_wanted", bool, False),
        "notes": reader.may(document, "notes", str, ""),
    }
    if reader.errors:
        raise Invalid("The statement cannot be read.", reader.errors)
    return Statement(**fields)


def _outcome(reader: _Reader, row: int, values: Any) -> Outcome:
    where: dict[str, Any] = {"place": "outcomes.", "row": row}
    return Outcome(
        prescription=reader.get(values, "prescription", UUID, **where),
        percent_complete=reader.get(values, "percent_complete", int, **where),
        stems_cut=reader.may(values, "stems_cut", int, None, **where),
        area_done_m2=reader.may(values, "area_done_m2", float, None, **where),
        drawn=reader.may(values, "drawn", dict, None, **where),
    )


def _time(reader: _Reader, row: int, values: Any) -> TimeStated:
    where: dict[str, Any] = {"place": "times.", "row": row}
    return TimeStated(
        visit=reader.get(values, "visit", UUID, **where),
        person=reader.get(values, "person", UUID, **where),
        minutes=reader.get(values, "minutes", int, **where),
        origin=reader.may(values, "origin", str, "typed", **where),
        prescription=reader.may(values, "prescription", UUID, None, **where),
        step=reader.may(values, "step", str, "", **where),
        work_date=reader.may(values, "work_date", date.fromisoformat, None, **where),
    )


def _material(reader: _Reader, row: int, values: Any) -> MaterialStated:
    where: dict[str, Any] = {"place": "materials.", "row": row}
    return MaterialStated(
        visit=reader.get(values, "visit", UUID, **where),
        lot=reader.get(values, "lot", UUID, **where),
        value=reader.get(values, "value", lambda value: Decimal(str(value)), **where),
        unit=reader.get(values, "unit", str, **where),
        prescription=reader.may(values, "prescription", UUID, None, **where),
        work_date=reader.may(values, "work_date", date.fromisoformat, None, **where),
    )


def statement_prefilled(order: WorkOrder, *, happened_at: datetime) -> dict[str, Any]:
    """What the plan would have: everybody's share of the paid hours, marked as prefilled until somebody touches it."""
    visits = [visit for visit in order_visits(order) if visit.state in {"ordered", "done"}]
    return {
        "work_date": max(visit.day for visit in visits).isoformat() if visits else order.last_day.isoformat(),
        "happened_at": happened_at.isoformat(),
        "confirmed_by": "",
        "outcomes": [
            {"prescription": str(row.public_id), "patch": row.patch.code, "percent_complete": 100}
            for row in order_prescriptions(order)
        ],
        "times": [entry for visit in visits for entry in _times_prefilled(visit)],
        "materials": [],
        "condition": "",
        "weather": {},
        "notes": "",
    }


def _times_prefilled(visit: Visit) -> Iterator[dict[str, Any]]:
    people = crew_people(visit.crew, visit.day)
    hours = sum(
        share.prescription.estimate.paid_person_hours * share.prescription.share_left * share.share
        for share in visit.shares.all()
    )
    for person in people:
        yield {
            "visit": str(visit.public_id),
            "day": visit.day.isoformat(),
            "person": str(person.public_id),
            "name": person.name,
            "minutes": max(1, round(hours / len(people) * 60)),
            "origin": "prefilled",
        }
