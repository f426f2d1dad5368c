"""A table that holds a cell of every kind, and what a person might try on a spreadsheet."""

from datetime import UTC, date, datetime
from decimal import Decimal

from orders.reports.about import About
from orders.reports.table import Column, Table

ABOUT = About(
    program="Fencerow",
    made_for="Fay Frost",
    made_at=datetime(2027, 3, 1, 9, 30, tzinfo=UTC),
    proof="The ledger was last proved 2027-03-01 08:10 UTC: all checks hold, 3 rows.",
)
COLUMNS = (
    Column("site", "Site", "text"),
    Column("day", "Day", "day"),
    Column("month", "Month", "month"),
    Column("actual", "Actual", "cents", total=True),
    Column("hours", "Hours", "minutes", total=True),
    Column("share", "Share", "percent"),
    Column("rows", "Rows", "whole", total=True),
    Column("area", "Area, m²", "area_m2"),
    Column("rate", "Rate", "number"),
)
ROWS = (
    ("Élan, “North”", date(2027, 2, 10), date(2027, 2, 1), 1_234_567, 455, 12.5, 3, 1500, Decimal("1.25")),
    ("two\nlines", date(2027, 2, 11), date(2027, 2, 1), -98_765, 60, None, 1, None, 2),
    ("", None, None, 5, None, 0, None, 0, 0.5),
)
INJECTIONS = (
    "=1+1",
    '=HYPERLINK("https://evil.example.org";"open")',
    "+SUM(A1:A9)",
    "-2+3",
    "@SUM(1)",
    "\t=1+1",
    "\r=1+1",
    "＝1+1",
    "＋1",
    "－1",
    "＠SUM(1)",
    "=cmd|' /C calc'!A0",
)


def table(rows=ROWS, columns=COLUMNS, total=None):
    return Table("Cost by site", ("Season 2027.", "Fund: GEN."), columns, rows, total)


def texts(*cells):
    return Table("Words", (), (Column("word", "Word", "text"),), tuple((cell,) for cell in cells))
