"""Rate books for tests: the reference rates, drafts of them, and the volunteers' book."""

from datetime import date

from orders.estimates.convert import rate_rows
from orders.estimates.services import rate_book_draft, rate_book_put_in_force
from tests import build
from tests.flow.world import BEGIN, csv_rows

ROLES = {"crew": "crew-member", "applicator": "crew-member", "sawyer": "crew-member"}


def draft(world, rows=None, **more):
    """The reference rates as another draft, or other rows."""
    named = {"name": "Reference", "standard_crew": {"crew-member": 3}, "skill_roles": ROLES, **more}
    return rate_book_draft(rows=csv_rows("rate_book.csv") if rows is None else rows, stamp=world.stamp(), **named)


def changed_rows(factor=2.0, *, kind="rate", method="hand-pull"):
    """The reference rows with the values of one method multiplied."""
    rows = csv_rows("rate_book.csv")
    return [
        {**row, "value": f"{float(row['value']) * factor:g}"} if (row["kind"], row["method"]) == (kind, method) else row
        for row in rows
    ]


def volunteer_book(world):
    role = build.LaborRoleFactory(code="volunteer")
    build.StandardRateFactory(role=role, from_day=date(2026, 1, 1), rate_e4=0)
    book = draft(
        world,
        csv_rows("rate_book_volunteers.csv"),
        name="Volunteers",
        crew_kind="volunteers",
        standard_crew={"crew-member": 1, "volunteer": 6},
        skill_roles={"crew": "whole-crew"},
    )
    return rate_book_put_in_force(book=book, from_day=BEGIN.date(), stamp=world.stamp())


def line_of(book, **named):
    """The line of the first row that has these values."""
    rows = rate_rows(book)
    return next(line for line, row in enumerate(rows, start=1) if named.items() <= row.items())
