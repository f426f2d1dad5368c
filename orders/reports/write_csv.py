"""The one CSV writer (RFC 4180): CRLF, a heading row, and the total as the last row. Rows go by one at a time."""

import csv
import io
from collections.abc import Iterable, Iterator
from typing import IO, Any

from orders.common.spreadsheets import text_guarded
from orders.reports.cells import cell_bare
from orders.reports.table import Column, Table
from orders.reports.walk import Walk


def csv_write(walk: Walk, file: IO[str]) -> None:
    """`file` is opened with newline=""; UTF-8 is the caller's to say."""
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerows(_rows(walk))


def csv_text(table: Table) -> str:
    """A short table at once."""
    out = io.StringIO()
    csv_write(Walk(table), out)
    return out.getvalue()


def texts_csv(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table that is text throughout."""
    columns = tuple(Column(heading, heading, "text") for heading in headings)
    return csv_text(Table("", (), columns, (tuple(row) for row in rows)))


def _rows(walk: Walk) -> Iterator[list[str]]:
    columns = walk.table.columns
    yield [text_guarded(column.heading) for column in columns]
    for row in walk.rows():
        yield _cells(columns, row)
    total = walk.total()
    if total is not None:
        yield _cells(columns, total)


def _cells(columns: tuple[Column, ...], row: tuple[Any, ...]) -> list[str]:
    return [cell_bare(value, column.kind) for value, column in zip(row, columns, strict=True)]
