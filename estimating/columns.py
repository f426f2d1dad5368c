"""Tables of facts as frozen dataclasses of equally long, read-only numpy arrays.

A table class lists its columns with `column(...)`; on construction every column is turned into an array of its type,
filled with its default where it was left out, checked for length and range, and locked against writing. The first
value that cannot be true raises `InvalidFact` with the column's name and the row.
"""

import copy
import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, Self

import numpy as np
import numpy.typing as npt

from estimating.errors import InvalidFact

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
SmallArray = npt.NDArray[np.int8]


class Known(IntEnum):
    """Answer to a question of the survey; UNKNOWN is an answer, and never counts as NO."""

    NO = 0
    YES = 1
    UNKNOWN = 2


@dataclass(frozen=True)
class ColumnRule:
    """Type and allowed range of one column.

    `above` excludes its bound, `low` and `high` include theirs; `width` is the number of values a row where there are
    several, such as one a diameter class.
    """

    dtype: Any
    low: float | None = None
    high: float | None = None
    above: float | None = None
    allow_nan: bool = False
    default: float | None = None
    width: int | None = None


def column(dtype: Any = np.float64, **rule: Any) -> Any:
    """A column of a table; with `default=` it may be left out."""
    checked = ColumnRule(dtype=dtype, **rule)
    if checked.default is None:
        return dataclasses.field(metadata={"column": checked})
    return dataclasses.field(default=None, metadata={"column": checked})


def answers(**rule: Any) -> Any:
    """A column of yes / no / unknown answers (values of `Known`)."""
    return column(np.int8, low=0, high=2, **rule)


def first_true(mask: BoolArray) -> int | None:
    """Index of the first true element along the first axis, or None."""
    rows = np.flatnonzero(mask if mask.ndim == 1 else mask.any(axis=tuple(range(1, mask.ndim))))
    return int(rows[0]) if rows.size else None


def refuse_rows(name: str, mask: BoolArray, message: str) -> None:
    """Raise `InvalidFact` for the first row where `mask` is true."""
    row = first_true(mask)
    if row is not None:
        raise InvalidFact(message, name, row)


def check_range(name: str, values: npt.NDArray[Any], rule: ColumnRule) -> None:
    """Raise for the first value outside the rule; a missing number passes only where the rule allows it."""
    if np.issubdtype(values.dtype, np.floating):
        refuse_rows(name, np.isinf(values), "must be a finite number")
        if not rule.allow_nan:
            refuse_rows(name, np.isnan(values), "is missing")
    with np.errstate(invalid="ignore"):
        if rule.above is not None:
            refuse_rows(name, values <= rule.above, f"must be above {rule.above:g}")
        if rule.low is not None:
            refuse_rows(name, values < rule.low, f"must be at least {rule.low:g}")
        if rule.high is not None:
            refuse_rows(name, values > rule.high, f"must be at most {rule.high:g}")


def as_column(name: str, values: Any, rule: ColumnRule, rows: int) -> npt.NDArray[Any]:
    """`values` as a checked, read-only array with `rows` rows."""
    shape = (rows,) if rule.width is None else (rows, rule.width)
    if values is None:
        array = np.full(shape, rule.default, dtype=rule.dtype)
    else:
        try:
            array = np.array(values, dtype=rule.dtype)
        except (TypeError, ValueError) as error:
            raise InvalidFact(f"cannot be read as numbers: {error}", name) from error
    if array.shape != shape:
        raise InvalidFact(f"has shape {array.shape}, but the table needs {shape}", name)
    check_range(name, array, rule)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, kw_only=True)
class Table:
    """Base of all tables: `ids` name the rows in messages, every other column has one value a row."""

    ids: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "ids", tuple(self.ids))
        for field in dataclasses.fields(self):
            rule = field.metadata.get("column")
            if rule is not None:
                checked = as_column(field.name, getattr(self, field.name), rule, len(self.ids))
                object.__setattr__(self, field.name, checked)
        self.check()

    def check(self) -> None:
        """Rules that tie several columns together; tables override it."""

    def __len__(self) -> int:
        return len(self.ids)

    def take(self, rows: IntArray, **changed: Any) -> Self:
        """The same table with some of its rows only; `changed` replaces whole columns.

        Rows that were checked once are not checked again, only what is changed and what ties columns together.
        """
        taken = copy.copy(self)
        ids = tuple(changed.pop("ids", None) or (self.ids[row] for row in rows))
        object.__setattr__(taken, "ids", ids)
        for field in dataclasses.fields(self):
            rule = field.metadata.get("column")
            if field.name in changed:
                given = changed.pop(field.name)
                values = given if rule is None else as_column(field.name, given, rule, len(ids))
            elif rule is not None:
                values = getattr(self, field.name)[rows]
                values.setflags(write=False)
            else:
                continue
            object.__setattr__(taken, field.name, values)
        if changed:
            raise InvalidFact("is no column of this table", next(iter(changed)))
        taken.check()
        return taken

    def row(self, index: int) -> Mapping[str, Any]:
        """One row as plain values, for a page or a message."""
        found: dict[str, Any] = {"id": self.ids[index]}
        for field in dataclasses.fields(self):
            if "column" in field.metadata:
                found[field.name] = getattr(self, field.name)[index].tolist()
        return found
