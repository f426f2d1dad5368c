"""The dated rules on record: which one holds where and when, when a record is due by it, and until when it is kept."""

from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import QuerySet

from orders.common.business_days import business_days_after
from orders.common.errors import NotFound
from orders.workorders.models import RecordProfile

PROGRAM = ""  # the program's own, where no other is known
FEDERAL = "US"  # beside a state's own, for how long a record is kept


@dataclass(frozen=True)
class Rules:
    """All dated profiles, read once."""

    rows: tuple[RecordProfile, ...]

    @classmethod
    def read(cls) -> "Rules":
        return cls(tuple(profiles()))

    def _in_force(self, day: date) -> dict[str, RecordProfile]:
        return {
            row.jurisdiction: row
            for row in self.rows
            if row.first_day <= day and (row.last_day is None or row.last_day >= day)
        }

    def of(self, jurisdiction: str, day: date) -> RecordProfile | None:
        """The one in force that day for the jurisdiction, else the program's own; None where neither is on record."""
        found = self._in_force(day)
        return found.get(jurisdiction) or found.get(PROGRAM)

    def keep_years(self, jurisdiction: str, day: date) -> int:
        """The most that any rule asks for which may apply."""
        found = [self.of(jurisdiction, day), self._in_force(day).get(FEDERAL)]
        return max((row.keep_years for row in found if row is not None), default=0)


def profiles() -> QuerySet[RecordProfile]:
    return RecordProfile.objects.order_by("jurisdiction", "first_day")


def profile_get(profile_id: UUID) -> RecordProfile:
    found = profiles().filter(public_id=profile_id).first()
    if found is None:
        raise NotFound("There is no such rule on records.")
    return found


def record_due(profile: RecordProfile, used_on: date) -> date:
    """The last day on which the record of a use is in time."""
    if profile.counts == "business_days":
        return business_days_after(used_on, profile.days)
    return used_on + timedelta(days=profile.days if profile.counts == "days" else 0)


def kept_until(rules: Rules, jurisdiction: str, used_on: date, signed_on: date, also: date | None = None) -> date:
    """The last day of the longest term, counted from the use or from its record, whichever was later. `also`: what
    other rules ask for, such as those of an award that paid for the work."""
    years = rules.keep_years(jurisdiction, used_on)
    found = years_after(max(used_on, signed_on), years)
    return max(found, also) if also else found


def years_after(day: date, years: int) -> date:
    """The same day of the year; February 29 becomes March 1 where there is none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)
