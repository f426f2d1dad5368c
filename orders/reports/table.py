"""A report as a plain table: what the screen shows and what every file of it is written from."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

# What a cell holds: cents, minutes and square meters are whole units of that name, `percent` is 12.5 for 12.5%,
# `day` a date, `month` the date of its first day, `text` a str. None is an empty cell of any kind.
Kind = Literal["text", "cents", "minutes", "number", "percent", "day", "month", "whole", "area_m2"]


@dataclass(frozen=True)
class Column:
    """`total`: the column is summed, and the table's total row holds the sum. `is_for_files`: pages leave it out,
    such as an id that another program looks for."""

    key: str
    heading: str
    kind: Kind
    total: bool = False
    is_for_files: bool = False


@dataclass(frozen=True)
class Table:
    """`rows` may be a generator, to be walked once; `told` are the lines under the title: filters and remarks.

    `total` is as long as the columns, None in the columns that have none.
    """

    title: str
    told: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: Iterable[tuple[Any, ...]]
    total: tuple[Any, ...] | None = None
