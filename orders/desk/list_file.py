"""What a list shows as a CSV file: the one way for the desk's lists (RFC 4180)."""

import csv
from collections.abc import Iterable, Iterator
from typing import Any

from django.http import HttpResponse

from orders.common.spreadsheets import text_guarded

TYPE = "text/csv; charset=utf-8; header=present"


class _Line:
    """What csv writes comes back as the line."""

    def write(self, line: str) -> str:
        return line


def list_lines(headings: Iterable[str], rows: Iterable[Iterable[str | float]]) -> Iterator[str]:
    """The lines of the file; text is guarded against formulas, numbers stay numbers."""
    writer: Any = csv.writer(_Line(), lineterminator="\r\n")
    yield writer.writerow(list(headings))
    for row in rows:
        yield writer.writerow([text_guarded(cell) if isinstance(cell, str) else cell for cell in row])


def list_file(name: str, headings: Iterable[str], rows: Iterable[Iterable[str | float]]) -> HttpResponse:
    """All rows of a list, whatever page of it is shown."""
    told = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return HttpResponse(list_lines(headings, rows), content_type=TYPE, headers=told)
