"""Deadlines of every kind but seed: derived rows, computed again where their inputs have changed."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db.models import Q

from orders.common.changes import change_record, version_bump
from orders.common.rows import plain_values
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.reminders.convert.labels import labels_to_review
from orders.reminders.convert.licenses import licenses_expiring
from orders.reminders.convert.orders import orders_to_close
from orders.reminders.convert.records import records_due
from orders.reminders.convert.stock import stock_short
from orders.reminders.convert.windows import windows_closing
from orders.reminders.models import ENDED, OWED, Deadline
from orders.reminders.moments import NEWS_DAYS
from orders.reminders.owed import GONE, Key, Owed

Kind = Callable[[Sequence[Deadline], Stamp], Iterator[Owed]]
KINDS: dict[str, Kind] = {
    "window": windows_closing,
    "record": records_due,
    "license": licenses_expiring,
    "label": labels_to_review,
    "stock": stock_short,
    "close": orders_to_close,
}
BOOKKEEPING = {"fingerprint", "known_at", "year"}


@dataclass(frozen=True)
class OwedRefreshed:
    """How many deadlines of these kinds were added, changed, ended, or found as they were."""

    added: int = 0
    changed: int = 0
    ended: int = 0
    unchanged: int = 0


@dataclass(frozen=True)
class _Stale:
    """A deadline to write: a new one where `row` is None; gone without a word where `values` say so alone."""

    key: Key
    row: Deadline | None
    values: dict[str, Any]

    @property
    def changed(self) -> dict[str, Any]:
        return {name: value for name, value in self.values.items() if value != getattr(self.row, name, None)}

    @property
    def what(self) -> str:
        if self.row is None:
            return "added"
        if self.changed.keys() <= BOOKKEEPING:
            return "unchanged"
        return "ended" if self.changed.get("state") == ENDED else "changed"


def owed_refresh(*, stamp: Stamp) -> OwedRefreshed:
    """Bring the deadlines up to what plans, orders, licenses, labels and stock say at that instant.

    What is stale is looked for without a lock, and once more under it if there is any.
    """
    stale, refreshed = _compare(stamp)
    if not stale:
        return refreshed
    with writing():
        stale, refreshed = _compare(stamp)
        for item in stale:
            _write(item, stamp)
    return refreshed


def _compare(stamp: Stamp) -> tuple[list[_Stale], OwedRefreshed]:
    rows = _rows_alive(stamp)
    by_key = {_key(row): row for row in rows}
    owed = {found.key: found for kind, derive in KINDS.items() for found in derive(_of_kind(rows, kind), stamp)}
    stale = [item for found in owed.values() if (item := _stale(found, by_key.get(found.key), stamp))]
    stale += [_gone(row) for key, row in by_key.items() if key not in owed and row.state in OWED and not row.done_on]
    counts = Counter(item.what for item in stale)
    counts["unchanged"] += len(rows) - sum(item.row is not None for item in stale)
    return stale, OwedRefreshed(**counts)


def _rows_alive(stamp: Stamp) -> list[Deadline]:
    """What is still owed, however old, and whatever was due lately."""
    lately = stamp.at.date() - timedelta(days=NEWS_DAYS)
    alive = Q(state__in=OWED, done_on__isnull=True) | Q(due_on__gte=lately)
    return list(Deadline.objects.filter(alive, kind__in=KINDS).order_by("id"))


def _of_kind(rows: Iterable[Deadline], kind: str) -> list[Deadline]:
    return [row for row in rows if row.kind == kind]


def _key(row: Deadline) -> Key:
    return Key(row.kind, row.subject_key, row.period)


def _stale(owed: Owed, row: Deadline | None, stamp: Stamp) -> _Stale | None:
    today = stamp.local_date(owed.time_zone)
    fingerprint = owed.fingerprint(is_past=owed.due_on < today)
    if row is not None and row.fingerprint == fingerprint:
        return None
    state = owed.state(today)
    if row is None and (state not in OWED or owed.done_on is not None):
        return None  # settled before anybody was to be told
    values = {
        "title": owed.title,
        "due_on": owed.due_on,
        "year": owed.due_on.year,
        "known_at": owed.known_at,
        "because": owed.gone or owed.because,
        "state": state,
        "done_on": owed.done_on,
        "fingerprint": fingerprint,
        **owed.refs,
    }
    return _Stale(owed.key, row, values)


def _gone(row: Deadline) -> _Stale:
    return _Stale(_key(row), row, {"state": ENDED, "because": GONE[row.kind], "fingerprint": ""})


def _write(item: _Stale, stamp: Stamp) -> None:
    if item.row is None:
        kind, subject, period = item.key
        row = Deadline.objects.create(kind=kind, subject_key=subject, period=period, **item.values)
        change_record(stamp=stamp, verb="deadline_add", entity=row, after=_shown(item.values))
        return
    changed = item.changed
    if item.what == "unchanged":
        Deadline.objects.filter(pk=item.row.pk).update(**changed)
        return
    before = version_bump(item.row, expected=None, **changed)
    change_record(stamp=stamp, verb="deadline_change", entity=item.row, before=_shown(before), after=_shown(changed))


def _shown(values: dict[str, Any]) -> dict[str, Any]:
    """Without the program's own bookkeeping: the title names what it is of."""
    return plain_values(
        {name: value for name, value in values.items() if name not in BOOKKEEPING and not name.endswith("_id")}
    )
