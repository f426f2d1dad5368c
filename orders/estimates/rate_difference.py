"""What two rate books have in common and where they differ, row by row."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from orders.estimates.convert import RATE_COLUMNS, rate_rows
from orders.estimates.models import RateBook

# What makes a row the row that it is; the other columns are what may change in it.
KEY_COLUMNS = ("kind", "method", "step", "growth_form", "driver", "from_value")
VALUE_COLUMNS = tuple(name for name in RATE_COLUMNS if name not in KEY_COLUMNS)
NUMBER_COLUMNS = frozenset({"from_value", "value", "cover_exponent", "shared_spread", "own_spread"})
Row = Mapping[str, str]
Key = tuple[object, ...]


@dataclass(frozen=True)
class ValueChange:
    """One column of a row."""

    column: str
    old: str
    new: str


@dataclass(frozen=True)
class RateChange:
    """A row that one of two books has and the other has not, or has with other values."""

    change: str  # added, removed, changed
    kind: str
    method: str
    step: str
    growth_form: str
    driver: str
    from_value: str
    values: tuple[ValueChange, ...]


@dataclass(frozen=True)
class Difference:
    """From an old book to a new one; `rows` by method and then as the books have them."""

    old: RateBook
    new: RateBook
    rows: tuple[RateChange, ...]
    same: int

    @property
    def by_method(self) -> list[tuple[str, list[RateChange]]]:
        """Rows that hold for all methods come first, under an empty name."""
        names = sorted({row.method for row in self.rows})
        return [(name, [row for row in self.rows if row.method == name]) for name in names]

    def count(self, change: str) -> int:
        return sum(row.change == change for row in self.rows)


def rate_book_difference(old: RateBook, new: RateBook) -> Difference:
    """What changes when `new` takes the place of `old`. Numbers that are written otherwise but equal count as same."""
    before, after = rate_rows(old), rate_rows(new)
    rows = rate_changes(before, after)
    kept = len(after) - sum(row.change != "removed" for row in rows)
    return Difference(old, new, tuple(sorted(rows, key=lambda row: row.method)), kept)


def rate_changes(old: Sequence[Row], new: Sequence[Row]) -> list[RateChange]:
    before, after = {_key(row): row for row in old}, {_key(row): row for row in new}
    gone = [_change("removed", row, row, {}) for key, row in before.items() if key not in after]
    found = [
        _change("changed" if key in before else "added", row, before.get(key, {}), row)
        for key, row in after.items()
        if key not in before or _values(before[key], row)
    ]
    return found + gone


def changes_plain(changes: Iterable[RateChange]) -> list[dict[str, Any]]:
    """For the record of who changed what."""
    return [
        {
            "change": row.change,
            **{name: getattr(row, name) for name in KEY_COLUMNS if getattr(row, name)},
            "values": {value.column: [value.old, value.new] for value in row.values},
        }
        for row in changes
    ]


def _change(change: str, row: Row, old: Row, new: Row) -> RateChange:
    named: dict[str, Any] = {name: row[name] for name in KEY_COLUMNS}
    return RateChange(change=change, values=_values(old, new), **named)


def _values(old: Row, new: Row) -> tuple[ValueChange, ...]:
    return tuple(
        ValueChange(name, old.get(name, ""), new.get(name, "")) for name in VALUE_COLUMNS if _differs(name, old, new)
    )


def _differs(name: str, old: Row, new: Row) -> bool:
    """Of a row that is in one book only, everything that it says."""
    before, after = old.get(name, ""), new.get(name, "")
    return before != after if not (old and new) else _comparable(name, before) != _comparable(name, after)


def _key(row: Row) -> Key:
    return tuple(_comparable(name, row[name]) for name in KEY_COLUMNS)


def _comparable(name: str, text: str) -> object:
    """0.30 and 0.3 are the same number; no `from_value` is 0."""
    if name not in NUMBER_COLUMNS:
        return text.strip()
    try:
        return float(text) if text.strip() else 0.0
    except ValueError:
        return text
