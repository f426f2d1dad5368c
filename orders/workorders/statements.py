"""What a crew lead states at the close, as plain dataclasses: interfaces fill them, services check and store them."""

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4


@dataclass(frozen=True)
class Outcome:
    """How far it got; stems, area and outline (a GeoJSON polygon) where the crew counted or drew them."""

    prescription: UUID
    percent_complete: int
    stems_cut: int | None = None
    area_done_m2: float | None = None
    drawn: dict[str, Any] | None = None


@dataclass(frozen=True)
class TimeStated:
    """Minutes of one person on one visit. `prescription` and `step` only where the crew kept them apart; `work_date`
    where it was not the visit's day."""

    visit: UUID
    person: UUID
    minutes: int
    origin: str
    prescription: UUID | None = None
    step: str = ""
    work_date: date | None = None
    public_id: UUID = field(default_factory=uuid4)


@dataclass(frozen=True)
class MaterialStated:
    """Product as packaged, from one lot, in the unit that was typed."""

    visit: UUID
    lot: UUID
    value: Decimal
    unit: str
    prescription: UUID | None = None
    work_date: date | None = None
    public_id: UUID = field(default_factory=uuid4)


@dataclass(frozen=True)
class Statement:
    """The close-out as the crew lead confirms it."""

    work_date: date
    happened_at: datetime
    confirmed_by: str
    outcomes: tuple[Outcome, ...]
    times: tuple[TimeStated, ...]
    materials: tuple[MaterialStated, ...] = ()
    condition: str = ""
    weather: dict[str, object] = field(default_factory=dict)
    follow_up_wanted: bool = False
    notes: str = ""
    public_id: UUID = field(default_factory=uuid4)
