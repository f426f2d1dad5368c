"""A running season as the desk watches it: seed deadlines and what stands behind them, checks that are due, orders by
state, hours as orders close, follow-ups without a day. Hours and no money: cost pages are for finance."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple, overload

from django.db.models import Count, Q, QuerySet, Sum
from django.utils import timezone

from orders.common.models import User
from orders.costs.models import Commitment, LedgerEntry
from orders.estimates.models import Method
from orders.field.models import Flag
from orders.field.selectors.flags import flags_of
from orders.planning.models import Prescription, Season, VisitShare
from orders.reminders.models import Deadline
from orders.reminders.selectors import deadlines_of
from orders.workorders.models import WorkOrder

# What stands behind a seed deadline, from nothing to done
BEHIND = (("none", "nothing yet"), ("planned", "on a day"), ("ordered", "on an order"), ("done", "done"))
RANK = {"open": 0, "planned": 1, "ordered": 2, "done": 3}
ORDER_STATES = tuple(code for code, _ in WorkOrder.STATES)
NOT_OVER = ("open", "planned", "ordered")
Minutes = list[tuple[str, datetime, int]]  # by method and by when the order was closed


@dataclass(frozen=True)
class Seed:
    """A deadline with the farthest that work against it has come; its order where it has one."""

    deadline: Deadline
    behind: str
    order: WorkOrder | None

    @property
    def behind_words(self) -> str:
        return dict(BEHIND)[self.behind]


class SeedFacts(NamedTuple):
    """A deadline by its key, when it is due, and what stands behind it."""

    key: int
    due_on: date
    patch: int
    behind: str


class Seeds(Sequence[Seed]):
    """The deadlines of a season in order. Whoever shows a part of them reads that part."""

    def __init__(self, season: Season, facts: Sequence[SeedFacts]) -> None:
        self.season, self.facts = season, facts

    def __len__(self) -> int:
        return len(self.facts)

    @overload
    def __getitem__(self, which: int) -> Seed: ...
    @overload
    def __getitem__(self, which: slice) -> list[Seed]: ...
    def __getitem__(self, which: int | slice) -> Seed | list[Seed]:
        return self._read(self.facts[which]) if isinstance(which, slice) else self._read([self.facts[which]])[0]

    def __iter__(self) -> Iterator[Seed]:
        return iter(self._read(self.facts))

    def _read(self, facts: Sequence[SeedFacts]) -> list[Seed]:
        rows = Deadline.objects.select_related("patch__site").defer("patch__site__boundary")
        found = rows.in_bulk([one.key for one in facts])
        orders = _orders_by_patch(self.season, {one.patch for one in facts})
        return [Seed(found[one.key], one.behind, orders.get(one.patch)) for one in facts]


def seeds(actor: User, season: Season, on: date) -> Seeds:
    """Of the season: what is not done first, in the order of its days. Two queries, two more for what is read."""
    rows = deadlines_of(actor, on=on).filter(kind="seed", due_on__range=(season.first_day, season.last_day))
    due = rows.exclude(state="ended").values_list("pk", "due_on", "patch_id", "state", "done_on")
    farthest = _farthest(season)
    found = [
        SeedFacts(key, day, patch or 0, _behind(done_on is not None or state == "met", farthest.get(patch or 0, -1)))
        for key, day, patch, state, done_on in due
    ]
    return Seeds(season, sorted(found, key=lambda row: row.behind == "done"))


def _behind(is_done: bool, rank: int) -> str:
    return "done" if is_done or rank == RANK["done"] else BEHIND[max(rank, 0)][0]


def _farthest(season: Season) -> dict[int, int]:
    """By patch: how far the work that meets its seed deadline is."""
    rows = Prescription.objects.filter(season=season, seed_due_on__isnull=False, state__in=list(RANK))
    found: dict[int, int] = {}
    for patch, state in rows.order_by().values_list("patch_id", "state").distinct():
        found[patch] = max(found.get(patch, -1), RANK[state])
    return found


def _orders_by_patch(season: Season, patches: Set[int]) -> dict[int, WorkOrder]:
    """The last order of each patch that is to meet a seed deadline."""
    served = VisitShare.objects.filter(
        visit__order_visit__order__season=season,
        prescription__seed_due_on__isnull=False,
        prescription__patch__in=patches,
    )
    served = served.exclude(visit__order_visit__order__state="void").order_by("visit__order_visit__order__number")
    pairs = dict(served.values_list("prescription__patch_id", "visit__order_visit__order_id"))
    orders = WorkOrder.objects.only("public_id", "number", "state", "first_day").in_bulk(pairs.values())
    return {patch: orders[key] for patch, key in pairs.items()}


def seeds_by_week(rows: Iterable[SeedFacts]) -> list[tuple[date, tuple[int, ...]]]:
    """How many are due in each week, by what stands behind them."""
    places = {code: place for place, (code, _) in enumerate(BEHIND)}
    weeks: dict[date, list[int]] = defaultdict(lambda: [0] * len(BEHIND))
    for row in rows:
        monday = row.due_on - timedelta(days=row.due_on.weekday())
        weeks[monday][places[row.behind]] += 1
    return [(monday, tuple(counts)) for monday, counts in sorted(weeks.items())]


def checks_due(season: Season, on: date) -> list[Prescription]:
    """Checks of what a treatment did whose days have begun, the first to end first."""
    rows = Prescription.objects.filter(season=season, purpose="check", state__in=NOT_OVER, first_day__lte=on)
    return list(_light(rows).order_by("last_day", "id"))


def follow_ups_open(season: Season) -> QuerySet[Prescription]:
    """What follows finished work and no visit serves yet, the first to begin first."""
    rows = Prescription.objects.filter(season=season, origin="follow_up", state="open")
    return _light(rows).order_by("first_day", "id")


def _light(rows: QuerySet[Prescription]) -> QuerySet[Prescription]:
    return rows.select_related("patch__site", "method").defer("patch__site__boundary")


@dataclass(frozen=True)
class CrewOrders:
    crew: str
    counts: tuple[int, ...]  # in the order of ORDER_STATES
    behind: int


def orders_by_crew(season: Season, on: date) -> list[CrewOrders]:
    """`behind`: issued or underway though the last day is over."""
    late = Count("id", filter=Q(state__in=["issued", "underway"], last_day__lt=on))
    rows = WorkOrder.objects.filter(season=season).order_by("crew__name").values_list("crew__name", "state")
    counts: dict[str, list[int]] = defaultdict(lambda: [0] * len(ORDER_STATES))
    behind: dict[str, int] = defaultdict(int)
    for crew, state, count, over in rows.annotate(count=Count("id"), over=late):
        counts[crew][ORDER_STATES.index(state)] += count
        behind[crew] += over
    return [CrewOrders(crew, tuple(each), behind[crew]) for crew, each in counts.items()]


@dataclass(frozen=True)
class Hours:
    """Of closed orders alone."""

    key: str
    planned_minutes: int
    actual_minutes: int

    @property
    def ratio(self) -> float | None:
        return self.actual_minutes / self.planned_minutes if self.planned_minutes else None


@dataclass(frozen=True)
class ClosedWork:
    """Minutes of the closed orders of a season by method and by when they were closed: planned when an order was
    issued, actual as its close-out says."""

    planned: Minutes
    actual: Minutes


def closed_work(season: Season) -> ClosedWork:
    return ClosedWork(_minutes(Commitment, season), _minutes(LedgerEntry, season))


def hours_by_method(work: ClosedWork) -> list[Hours]:
    names = dict(Method.objects.values_list("code", "name"))
    planned, actual = (_summed((code, much) for code, _, much in rows) for rows in (work.planned, work.actual))
    rows = [
        Hours(names.get(code, code) or "no method", planned.get(code, 0), actual.get(code, 0))
        for code in {**planned, **actual}
    ]
    return sorted(rows, key=lambda row: -row.actual_minutes)


def hours_by_week(work: ClosedWork) -> list[tuple[date, int, int]]:
    """(Monday, planned, actual) minutes of all orders that were closed up to the end of each week."""
    planned, actual = (_summed((_monday(at), much) for _, at, much in rows) for rows in (work.planned, work.actual))
    found, sums = [], [0, 0]
    for week in sorted({*planned, *actual}):
        sums = [sums[0] + planned.get(week, 0), sums[1] + actual.get(week, 0)]
        found.append((week, sums[0], sums[1]))
    return found


def _minutes(model: Any, season: Season) -> Minutes:
    """The week of an order is found above, order by order: SQLite would ask Python for it row by row."""
    closed = {"order__season": season, "order__state": "closed", "order__closed_at__isnull": False}
    rows = model.objects.filter(**closed, category="labor").order_by()
    if model is LedgerEntry:
        rows, amount = rows.filter(book="cost", unit="min"), Sum("quantity")
    else:
        amount = Sum("minutes")
    summed = rows.values_list("method_code", "order__closed_at").annotate(much=amount)
    return [(code, at, int(much or 0)) for code, at, much in summed]


def _summed(parts: Iterable[tuple[Any, int]]) -> dict[Any, int]:
    found: dict[Any, int] = defaultdict(int)
    for key, much in parts:
        found[key] += much
    return dict(found)


def _monday(at: datetime) -> date:
    day = timezone.localtime(at).date()
    return day - timedelta(days=day.weekday())


def conflicts(actor: User, on: date) -> Sequence[Flag]:
    """Held messages of tablets that wait for a person."""
    return list(flags_of(actor, on=on).filter(state="open", kind="held"))
