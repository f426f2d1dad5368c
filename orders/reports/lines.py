"""Rows of a report that know what stands behind them, and rows that are read only as far as somebody looks."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.db.models import QuerySet

CHUNK_ROWS = 2_000


class Line(tuple[Any, ...]):
    """A row of a table. `behind` are the words that ask for the ledger rows and commitments that it is made of."""

    behind: Mapping[str, str]

    @classmethod
    def of(cls, cells: tuple[Any, ...], **behind: str) -> "Line":
        line = cls(cells)
        line.behind = {name.rstrip("_"): value for name, value in behind.items()}
        return line


class LazyRows:
    """A query's rows as cells: counted and cut by the database, and walked in constant memory."""

    def __init__(self, rows: QuerySet[Any], cells: Callable[[Any], tuple[Any, ...]]) -> None:
        self.rows = rows
        self.cells = cells

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        return (self.cells(row) for row in self.rows.iterator(chunk_size=CHUNK_ROWS))

    def __len__(self) -> int:
        return self.rows.count()

    def __getitem__(self, part: slice) -> list[tuple[Any, ...]]:
        return [self.cells(row) for row in self.rows[part]]
