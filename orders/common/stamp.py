"""Who does a thing, when, and why: the argument that every write takes."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from orders.common.models import User


@dataclass(frozen=True)
class Stamp:
    """`by` is None for what the program does by itself (a reminder run, a sweep)."""

    by: User | None
    at: datetime
    reason: str = ""

    def local_date(self, time_zone: str) -> date:
        return self.at.astimezone(ZoneInfo(time_zone)).date()

    def because(self, reason: str) -> "Stamp":
        return Stamp(by=self.by, at=self.at, reason=reason)
