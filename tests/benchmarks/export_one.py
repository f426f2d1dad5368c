"""One file of a report with many rows, in a process of its own, and the peak of its memory. Run by `export`."""

import tempfile
import time
from datetime import UTC, date, datetime
from pathlib import Path

from orders.reports.about import About
from orders.reports.files import table_write
from orders.reports.table import Column, Table

ABOUT = About("Fencerow", "a benchmark", datetime(2027, 3, 1, tzinfo=UTC), "Not proved.")
COLUMNS = (
    Column("row", "Row", "whole"),
    Column("day", "Worked", "day"),
    Column("site", "Site", "text"),
    Column("patch", "Patch", "text"),
    Column("fund", "Fund", "text"),
    Column("category", "Category", "text"),
    Column("amount", "Amount", "cents", total=True),
    Column("hours", "Hours", "minutes", total=True),
    Column("reason", "Reason", "text"),
)


def _rows(count):
    for row in range(count):
        day = date(2027, 1 + row % 12, 1 + row % 28)
        place = (f"SITE-{row % 40}", f"P{row % 900}", f"F{row % 9}", "Labor")
        yield (row, day, *place, row * 7 % 100_000 - 20_000, row % 480, f"Row {row} of the benchmark")


def one(file_format, count):
    """Print rows, the peak before and after in KiB, bytes and seconds."""
    with tempfile.TemporaryDirectory() as folder:
        before, started = _peak_kb(), time.monotonic()
        written = table_write(
            Table("Benchmark", (), COLUMNS, _rows(count)), file_format, Path(folder), name="rows", about=ABOUT
        )
        print(count, before, _peak_kb(), written.size_bytes, round(time.monotonic() - started, 1))


def _peak_kb():
    """Of this program's memory alone, by Linux's own table: what getrusage says counts the parent's before exec."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line.split()[1] for line in lines if line.startswith("VmHWM:")))
