"""Records of herbicide use: of each use that is on record, and of planned days of which nothing has come in yet."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from uuid import UUID

from django.db.models import Q

from orders.common.stamp import Stamp
from orders.planning.models import VisitShare
from orders.reminders.convert.facts import ids_of, local_day, local_moment, since
from orders.reminders.convert.orders import closed_at
from orders.reminders.models import Deadline
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text
from orders.workorders.models import Application, ApplicationRecord, RecordProfile
from orders.workorders.records.groups import GroupKey, applications_standing
from orders.workorders.records.rules import Rules, record_due
from orders.workorders.records.states import RecordState, record_states

# By midday of the day of work the use has begun; tunable, our own choice.
USE_HAS_BEGUN = time(12)
ON_RECORD = "Its uses are on record one by one now, and a record is owed of each."


def records_due(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each mix, place, day and responsible applicator; one for each day of an order that is planned only."""
    rules = Rules.read()
    yield from _of_uses(rows, rules, stamp)
    yield from _of_plans(rows, rules, stamp)


def _of_uses(rows: Sequence[Deadline], rules: Rules, stamp: Stamp) -> Iterator[Owed]:
    known = {UUID(row.subject_key.split("/")[0]) for row in rows if "/" in row.subject_key}
    wanted = Q(work_date__gte=since(stamp)) | Q(batch__public_id__in=known)
    states = record_states(applications_standing().filter(wanted), rules)
    signed = _signed_first([state for state in states if not state.is_open])
    for state in states:
        yield _owed_of_use(state, signed.get(state.group.key))


def _signed_first(states: Sequence[RecordState]) -> dict[GroupKey, datetime]:
    """When each record first held all that was required."""
    whole = ApplicationRecord.objects.filter(batch__in={state.group.key.batch_id for state in states}, missing=[])
    columns = ("batch_id", "site_id", "work_date", "responsible_id", "at")
    return {GroupKey(*key): at for *key, at in whole.order_by("-revision").values_list(*columns)}


def _owed_of_use(state: RecordState, signed_at: datetime | None) -> Owed:
    group, zone = state.group, state.group.site.time_zone
    subject = "/".join(str(row.public_id) for row in (group.batch, group.site, group.responsible))
    lacks = f" It lacks: {', '.join(state.record.missing)}." if state.record and state.record.missing else ""
    return Owed(
        key=Key("record", subject, group.work_date.isoformat()),
        title=f"Herbicide record of {day_text(group.work_date)}, {group.site.name}, {group.responsible.name}"[:300],
        due_on=state.due_on,
        because=f"{group.batch} was used there until {day_text(group.used_on)}. {_rule_text(state.profile)}{lacks}",
        refs={"site_id": group.key.site_id, "order_id": group.orders[0].pk},
        time_zone=zone,
        known_at=group.ended_at,
        done_on=local_day(signed_at, zone) if signed_at else None,
    )


def _rule_text(profile: RecordProfile) -> str:
    return f"{profile.jurisdiction}: {profile.source}." if profile.jurisdiction else f"{profile.source}."


@dataclass(frozen=True)
class _Plan:
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


def _of_plans(rows: Sequence[Deadline], rules: Rules, stamp: Stamp) -> Iterator[Owed]:
    """From the planned day on, until uses of that day come in or the order is closed: a program may keep its records
    on paper, and then its close-out is all that is seen here."""
    plans = _plans(rows, stamp)
    orders = {plan.order_id for plan in plans}
    closed = closed_at({plan.order_id for plan in plans if plan.state == "closed"})
    used = set(Application.objects.filter(order__in=orders).values_list("order_id", "work_date").order_by())
    for plan in plans:
        rule = rules.of(plan.jurisdiction, plan.day)
        if rule is not None and plan.day <= stamp.local_date(plan.time_zone):
            gone = ON_RECORD if (plan.order_id, plan.day) in used else ""
            yield _owed_of_plan(plan, rule, None if gone else closed.get(plan.order_id), gone)


def _plans(rows: Sequence[Deadline], stamp: Stamp) -> list[_Plan]:
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
    return [_Plan(key, str(public_id), *rest) for key, public_id, *rest in standing.values_list(*columns).distinct()]


def _owed_of_plan(plan: _Plan, rule: RecordProfile, closed: datetime | None, gone: str) -> Owed:
    return Owed(
        key=Key("record", plan.order_public_id, plan.day.isoformat()),
        title=f"Herbicide record of {day_text(plan.day)}, work order {plan.number}, {plan.site_name}"[:300],
        due_on=record_due(rule, plan.day),
        because=f"Work order {plan.number} has herbicide work on {day_text(plan.day)}. {_rule_text(rule)}",
        refs={"site_id": plan.site_id, "order_id": plan.order_id},
        time_zone=plan.time_zone,
        known_at=local_moment(plan.day, USE_HAS_BEGUN, plan.time_zone),
        done_on=local_day(closed, plan.time_zone) if closed else None,
        gone=gone,
    )
