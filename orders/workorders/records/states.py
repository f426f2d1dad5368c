"""Which records are owed, incomplete or there, and by when."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from orders.common.stamp import Stamp
from orders.workorders.models import Application, ApplicationRecord, RecordProfile, WorkOrder
from orders.workorders.records.groups import GroupKey, RecordGroup, applications_standing, group_find, groups_of
from orders.workorders.records.rules import Rules, record_due

OWED, INCOMPLETE, COMPLETE, NONE_NEEDED = "owed", "incomplete", "complete", "none needed"


@dataclass(frozen=True)
class RecordState:
    """`record`: the revision that stands, or None. `due_on`: by the rule that it names, else by the one in force."""

    group: RecordGroup
    record: ApplicationRecord | None
    profile: RecordProfile
    due_on: date

    @property
    def state(self) -> str:
        if self.record is None:
            return OWED
        return INCOMPLETE if self.record.missing else COMPLETE

    @property
    def is_open(self) -> bool:
        return self.state != COMPLETE

    def today(self, stamp: Stamp) -> date:
        return stamp.local_date(self.group.site.time_zone)

    def is_late(self, stamp: Stamp) -> bool:
        return self.is_open and self.today(stamp) > self.due_on


def records_standing() -> QuerySet[ApplicationRecord]:
    """The newest revision of each."""
    return ApplicationRecord.objects.filter(amended_by__isnull=True)


def record_has_changed(record: ApplicationRecord) -> bool:
    """The uses on record tell of other times than those that were signed, or were struck."""
    group = group_find(record.batch, record.site, record.work_date, record.responsible)
    return group is None or (group.started_at, group.ended_at) != (record.started_at, record.ended_at)


def record_states(applications: Iterable[Application], rules: Rules | None = None) -> list[RecordState]:
    """Of the uses given, which must be all of a group where they are some of it. Uses that no rule on record speaks of
    are left out."""
    rules = rules or Rules.read()
    groups = groups_of(applications)
    signed = records_standing().filter(batch__in={group.key.batch_id for group in groups}).select_related("profile")
    by_key = {GroupKey(row.batch_id, row.site_id, row.work_date, row.responsible_id): row for row in signed}
    found = [_state(group, by_key.get(group.key), rules) for group in groups]
    return [state for state in found if state is not None]


def _state(group: RecordGroup, record: ApplicationRecord | None, rules: Rules) -> RecordState | None:
    if record is not None:
        return RecordState(group, record, record.profile, record.due_on)
    profile = rules.of(group.site.jurisdiction.code, group.used_on)
    return RecordState(group, None, profile, record_due(profile, group.used_on)) if profile else None


def records_open(applications: QuerySet[Application] | None = None) -> list[RecordState]:
    """Owed or incomplete, the first due first."""
    rows = applications_standing() if applications is None else applications
    found = [state for state in record_states(rows.exclude(_is_complete())) if state.is_open]
    return sorted(found, key=lambda state: (state.due_on, state.group.started_at))


def _is_complete() -> Exists:
    """Of a use: its group's record stands and lacks nothing. Most do, and need not be read to be left out."""
    key = {name: OuterRef(name) for name in ("batch", "site", "work_date", "responsible")}
    return Exists(records_standing().filter(missing=[], **key))


@dataclass(frozen=True)
class OrderRecords:
    """The records that an order's uses stand in. An order can be closed whatever their state is."""

    states: tuple[RecordState, ...] = ()

    @property
    def state(self) -> str:
        if not self.states:
            return NONE_NEEDED
        return INCOMPLETE if any(state.is_open for state in self.states) else COMPLETE

    @property
    def is_open(self) -> bool:
        return self.state == INCOMPLETE

    @property
    def due_on(self) -> date | None:
        """The earliest day by which something is owed."""
        return min((state.due_on for state in self.states if state.is_open), default=None)


def orders_record_states(orders: Collection[WorkOrder]) -> dict[int, OrderRecords]:
    """By the order's key; those without a use are there too."""
    own = applications_standing().filter(order__in=[order.pk for order in orders])
    batches = {row.batch_id for row in own}
    found: dict[int, list[RecordState]] = defaultdict(list)
    for state in record_states(applications_standing().filter(batch__in=batches)):
        for order in state.group.orders:
            found[order.pk].append(state)
    return {order.pk: OrderRecords(tuple(found.get(order.pk, ()))) for order in orders}


def order_record_state(order: WorkOrder) -> OrderRecords:
    return orders_record_states([order])[order.pk]
