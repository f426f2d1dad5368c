"""Records of herbicide use. Until a day's own record can be kept here, what is owed is the order's close-out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Q

from orders.common.stamp import Stamp
from orders.planning.models import VisitShare
from orders.reminders.business_days import business_days_after
from orders.reminders.convert.facts import ids_of, local_day, local_moment, since
from orders.reminders.convert.orders import closed_at
from orders.reminders.models import Deadline, RecordRule
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text

# By midday of the day of work the use has begun; tunable, our own choice.
USE_HAS_BEGUN = time(12)


@dataclass(frozen=True)
class Rules:
    """All dated rules, read once."""

    rows: tuple[RecordRule, ...]

    @classmethod
    def read(cls) -> "Rules":
        return cls(tuple(RecordRule.objects.order_by("jurisdiction", "first_day")))

    def of(self, jurisdiction: str, day: date) -> RecordRule | None:
        """The one in force that day for the jurisdiction, else the program's own; None where neither is on record."""
        found = {
            row.jurisdiction: row
            for row in self.rows
            if row.first_day <= day and (row.last_day is None or row.last_day >= day)
        }
        return found.get(jurisdiction) or found.get("")


def record_due(rule: RecordRule, used_on: date) -> date:
    """The last day on which the record of a use is in time."""
    if rule.counts == "business_days":
        return business_days_after(used_on, rule.days)
    return used_on + timedelta(days=rule.days if rule.counts == "days" else 0)


@dataclass(frozen=True)
class _Use:
    """A day on which an order's herbicide work stands in the plan."""

    order_id: int
    order_public_id: str
    number: int
    state: str
    day: date
    site_id: int
    site_name: str
    time_zone: str
    jurisdiction: str


def records_due(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each order and day with herbicide, from that day on."""
    uses = _uses(rows, stamp)
    closed = closed_at({use.order_id for use in uses if use.state == "closed"})
    rules = Rules.read()
    for use in uses:
        rule = rules.of(use.jurisdiction, use.day)
        if rule is not None and use.day <= stamp.local_date(use.time_zone):
            yield _owed(use, rule, closed.get(use.order_id))


def _uses(rows: Sequence[Deadline], stamp: Stamp) -> list[_Use]:
    order = "visit__order_visit__order"
    columns = (
        f"{order}_id",
        f"{order}__public_id",
        f"{order}__number",
        f"{order}__state",
        "visit__day",
        "visit__site_id",
        "visit__site__name",
        "visit__site__time_zone",
        "visit__site__jurisdiction__code",
    )
    wanted = Q(**{f"{order}__state__in": ("issued", "underway"), "visit__day__gte": since(stamp)})
    wanted |= Q(**{f"{order}__in": ids_of(rows, "order"), f"{order}__state__in": ("issued", "underway", "closed")})
    shares = VisitShare.objects.filter(wanted, prescription__method__uses_herbicide=True)
    standing = shares.exclude(visit__state__in=("dropped", "not_done")).order_by("visit__day", f"{order}_id")
    return [_Use(key, str(public_id), *rest) for key, public_id, *rest in standing.values_list(*columns).distinct()]


def _owed(use: _Use, rule: RecordRule, closed: datetime | None) -> Owed:
    whose = f"{use.jurisdiction}: {rule.source}" if rule.jurisdiction else rule.source
    return Owed(
        key=Key("record", use.order_public_id, use.day.isoformat()),
        title=f"Herbicide record of {day_text(use.day)}, work order {use.number}, {use.site_name}"[:300],
        due_on=record_due(rule, use.day),
        because=f"Work order {use.number} has herbicide work on {day_text(use.day)}. {whose}.",
        refs={"site_id": use.site_id, "order_id": use.order_id},
        time_zone=use.time_zone,
        known_at=local_moment(use.day, USE_HAS_BEGUN, use.time_zone),
        done_on=local_day(closed, use.time_zone) if closed else None,
    )
