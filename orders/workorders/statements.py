"""What a crew lead states at the close, as plain dataclasses: interfaces fill them, services check and store them."""

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid4


@dataclass(frozen=True)
class Outcome:
    prescription: UUID
    percent_complete: int


@dataclass(frozen=True)
class TimeStated:
    """Minutes of one person on one visit. `prescription` and `step` only where the crew kept them apart."""

    visit: UUID
    person: UUID
    minutes: int
    origin: str
    prescription: UUID | None = None
    step: str = ""
    public_id: UUID = field(default_factory=uuid4)


@dataclass(frozen=True)
class MaterialStated:
    """Product as packaged, from one lot, in the unit that was typed."""

    visit: UUID
    lot: UUID
    value: Decimal
    unit: str
    prescription: UUID | None = None
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
