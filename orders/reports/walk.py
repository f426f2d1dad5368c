"""One walk over the rows of a table: counted, summed, and told as they go by."""

from collections.abc import Callable, Iterator
from typing import Any

from orders.reports.table import Table

TOLD_EVERY = 1_000
Told = Callable[[int], None]  # how many rows so far; raises to stop


class TotalWrong(Exception):
    """A report whose total is not the sum of its rows must not leave the house."""


class Walk:
    """`rows()` once, then `total()`."""

    def __init__(self, table: Table, told: Told | None = None) -> None:
        self.table = table
        self.count = 0
        self._told = told
        self._summed = {place: 0 for place, column in enumerate(table.columns) if column.total}

    def rows(self) -> Iterator[tuple[Any, ...]]:
        for row in self.table.rows:
            self.count += 1
            for place in self._summed:
                value = row[place]
                if value is not None:
                    self._summed[place] += value
            if self._told and self.count % TOLD_EVERY == 0:
                self._told(self.count)
            yield row
        if self._told:
            self._told(self.count)

    def total(self) -> tuple[Any, ...] | None:
        """The table's own total, held against the rows that went by; made of them where it has none."""
        given = self.table.total
        if given is None and not self._summed:
            return None
        cells = list(given) if given is not None else [None] * len(self.table.columns)
        for place, summed in self._summed.items():
            if given is not None and cells[place] is not None and cells[place] != summed:
                heading = self.table.columns[place].heading
                raise TotalWrong(f"{heading}: the total says {cells[place]}, its rows come to {summed}.")
            cells[place] = summed
        if cells[0] is None:
            cells[0] = "Total"
        return tuple(cells)
