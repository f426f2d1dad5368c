"""The file that goes to payroll: RFC 4180, the same bytes whenever it is made from the same lines."""

import csv
import io
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from orders.common.spreadsheets import text_guarded
from orders.costs.models import PayPeriod, PayPeriodLine

COLUMNS = ("person_id", "person", "day", "code", "minutes", "hours", "adjustment")
HUNDREDTH = Decimal("0.01")


def payroll_csv(lines: Iterable[PayPeriodLine]) -> bytes:
    """One row a person, day and code, in the order in which the lines were made. Minutes are exact; hours are decimal,
    to the hundredth. `adjustment` is yes where a day of an earlier period is set right, and may be below zero."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow(
            [
                str(line.person.public_id),
                text_guarded(line.person_name),
                line.work_date.isoformat(),
                line.code,
                line.minutes,
                hours_decimal(line.minutes),
                "yes" if line.is_adjustment else "no",
            ]
        )
    return out.getvalue().encode("utf-8")


def payroll_file_name(period: PayPeriod) -> str:
    return f"payroll-{period.first_day}-to-{period.last_day}.csv"


def hours_decimal(minutes: int) -> Decimal:
    """Rounded half up, away from zero: 50 -> 0.83, -50 -> -0.83"""
    return (Decimal(minutes) / 60).quantize(HUNDREDTH, ROUND_HALF_UP)
