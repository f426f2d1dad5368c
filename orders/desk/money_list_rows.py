"""What the files of the lists about money tell of each row. Amounts are in dollars, hours to two decimals."""

from collections.abc import Callable
from typing import Any

from orders.common.models.run import DONE
from orders.desk.listed import ListFile, dollars, hours, person
from orders.desk.telling import run_state
from orders.reports.selectors import query_told, report_name


def _cents(field: str) -> Callable[[Any], float | None]:
    return lambda row: dollars(getattr(row, field))


def _hours(field: str) -> Callable[[Any], float | None]:
    return lambda row: hours(getattr(row, field))


def _code(row: Any, of_award: str, of_fund: str) -> str:
    payer = getattr(row, of_award) or getattr(row, of_fund)
    return payer.code if payer else ""


def _order(row: Any) -> int | None:
    return row.order.number if row.order else None


PURCHASES = ListFile(
    "purchase-orders",
    {
        "Number": lambda row: row.number,
        "Vendor": lambda row: row.vendor.name,
        "Ordered": lambda row: row.ordered_on,
        "Wanted by": lambda row: row.wanted_by,
        "State": lambda row: row.get_state_display(),
        "Total $": _cents("total_cents"),
    },
)
BILLS = ListFile(
    "bills",
    {
        "Number": lambda row: row.number,
        "Vendor": lambda row: row.vendor.name,
        "Billed": lambda row: row.billed_on,
        "Due": lambda row: row.due_on,
        "State": lambda row: row.get_state_display(),
        "Total $": _cents("total_cents"),
    },
)
HELD = ListFile(
    "held-charges",
    {
        "What": lambda row: row.source_kind,
        "Category": lambda row: row.get_category_display(),
        "Order": _order,
        "Work of": lambda row: row.work_date,
        "Meant for": lambda row: _code(row, "award", "fund"),
        "Why": lambda row: row.message,
        "Amount $": _cents("amount_cents"),
        "Raised": lambda row: row.raised_at,
        "Settled": lambda row: row.settled_at,
        "Paid by": lambda row: _code(row, "settled_award", "settled_fund"),
        "Settled by": lambda row: person(row.settled_by),
        "Reason": lambda row: row.reason,
    },
)
OVERTIME = ListFile(
    "overtime",
    {
        "Week from": lambda row: row.week_start,
        "Person": lambda row: row.person.name,
        "Revision": lambda row: row.revision,
        "Worked, h": _hours("worked_minutes"),
        "Overtime, h": _hours("overtime_minutes"),
        "Double, h": _hours("double_minutes"),
        "Premium $": _cents("premium_cents"),
        "Time off instead, h": _hours("comp_minutes"),
    },
)
PAY_PERIODS = ListFile(
    "pay-periods",
    {
        "First day": lambda row: row.first_day,
        "Last day": lambda row: row.last_day,
        "State": lambda row: row.get_state_display(),
        "With payroll since": lambda row: row.exported_at,
        "By": lambda row: person(row.exported_by),
    },
)
EQUIPMENT_HOURS = ListFile(
    "equipment-hours",
    {
        "Day": lambda row: row.work_date,
        "Machine": lambda row: row.equipment.name,
        "Method": lambda row: row.method_code,
        "Order": _order,
        "Operating, h": _hours("operating_minutes"),
        "Standby, h": _hours("standby_minutes"),
        "Reason": lambda row: row.reason,
    },
)
TRIPS = ListFile(
    "trips",
    {
        "Day": lambda row: row.work_date,
        "Vehicle": lambda row: str(row.vehicle),
        "Person": lambda row: str(row.person or ""),
        "Order": _order,
        "Purpose": lambda row: row.purpose,
        "Miles": lambda row: row.miles_tenths / 10,
        "Reason": lambda row: row.reason,
    },
)
STOCK_MOVEMENTS = ListFile(
    "stock-movements",
    {
        "Day": lambda row: row.movement.on,
        "What": lambda row: row.movement.get_kind_display(),
        "Product": lambda row: row.product.name,
        "Lot": lambda row: row.movement.lot.lot_number,
        "Amount": lambda row: row.amount,
        "Unit": lambda row: row.movement.lot.unit,
        "Value $": _cents("value_cents"),
        "Why": lambda row: row.movement.reason,
    },
)
SPENT = {
    "Limit $": _cents("limit_cents"),
    "Spent $": _cents("actual_cents"),
    "Committed $": _cents("committed_cents"),
    "Left $": _cents("left_cents"),
    "Used, %": lambda row: row.used_percent if row.limit_cents else None,
}
FUNDS = ListFile(
    "funds",
    {
        "Code": lambda row: row.fund.code,
        "Fund": lambda row: row.name,
        **SPENT,
    },
)
AWARDS = ListFile(
    "awards",
    {
        "Code": lambda row: row.award.code,
        "Award": lambda row: row.name,
        "Fund": lambda row: row.fund.code,
        "Until": lambda row: row.award.last_day,
        **SPENT,
    },
)
FUNDING_RULES = ListFile(
    "funding-rules",
    {
        "Rule": lambda row: row.name,
        "Paid time": lambda row: row.work_code,
        "Site": lambda row: row.site.code if row.site else "",
        "Method": lambda row: row.method_code,
        "From": lambda row: row.from_day,
        "Until": lambda row: row.last_day,
        "Who pays": lambda row: ", ".join(
            f"{(share.award or share.fund).code} {share.share_e4 / 100:g}%" for share in row.shares.all()
        ),
    },
)
MONTHS = ListFile(
    "months",
    {
        "Month": lambda row: f"{row.month:%Y-%m}",
        "State": lambda row: row.state_words,
        "Rows": lambda row: row.rows,
        "Costs posted $": _cents("cost_cents"),
        "Closed": lambda row: row.period.closed_at if row.period else None,
    },
)
PROOFS = ListFile(
    "proofs",
    {
        "Ran": lambda row: row.ran_at,
        "Result": lambda row: "good" if row.is_good else "bad",
        "By": lambda row: person(row.ran_by),
        "Rows": lambda row: row.rows_count,
        "Newest row": lambda row: row.last_row,
    },
)
EXPORTS = ListFile(
    "files-of-reports",
    {
        "Report": lambda row: report_name(row.report),
        "Asked": lambda row: query_told(row.report, row.query),
        "Format": lambda row: row.get_file_format_display(),
        "Asked for": lambda row: row.asked_at,
        "By": lambda row: person(row.asked_by),
        "State": lambda row: run_state(row).words,
        "Rows": lambda row: row.rows_count if row.state == DONE else None,
        "Bytes": lambda row: row.size_bytes if row.state == DONE else None,
        "File": lambda row: row.file_name,
    },
)
VIEWS = ListFile(
    "saved-views",
    {
        "Name": lambda row: row.name,
        "Report": lambda row: report_name(row.report),
        "Asked": lambda row: query_told(row.report, row.query),
        "Whose": lambda row: person(row.owner),
        "Shared": lambda row: "yes" if row.is_shared else "no",
    },
)
SCHEDULES = ListFile(
    "mailed-reports",
    {
        "Name": lambda line: line.schedule.name,
        "Report": lambda line: line.report,
        "Asked": lambda line: line.query,
        "Format": lambda line: line.schedule.get_file_format_display(),
        "When": lambda line: line.when,
        "Next": lambda line: line.schedule.next_at if line.schedule.is_active else None,
        "To": lambda line: ", ".join(person(user) for user in line.schedule.recipients.all()),
        "Last mail": lambda line: line.last.sent_at if line.last else None,
        "Trouble": lambda line: line.last.error if line.last else "",
    },
)
EFFORT = ListFile(
    "effort-statements",
    {
        "First day": lambda row: row.statement.first_day,
        "Last day": lambda row: row.statement.last_day,
        "Person": lambda row: row.statement.person.name,
        "Revision": lambda row: row.statement.revision,
        "Paid, h": lambda row: hours(row.statement.minutes),
        "State": lambda row: "Replaced: make anew" if row.is_out_of_date else row.statement.get_state_display(),
        "Confirmed by": lambda row: row.statement.confirmed_name,
        "Confirmed": lambda row: row.statement.confirmed_at,
    },
)
JOURNALS = ListFile(
    "journals",
    {
        "Number": lambda row: row.number,
        "Made": lambda row: row.made_at,
        "By": lambda row: person(row.made_by),
        "Rows": lambda row: row.rows_count,
        "Debits $": _cents("total_cents"),
        "Sum of the file": lambda row: row.file_sha256,
    },
)
LOTS = ListFile(
    "stock-on-hand",
    {
        "Product": lambda line: line[0].product.name,
        "Lot": lambda line: line[1].lot.lot_number,
        "Received": lambda line: line[1].lot.received_on,
        "On hand": lambda line: line[1].amount,
        "Unit": lambda line: line[0].unit,
        "Value $": lambda line: dollars(line[1].value_cents),
    },
)
BUY = ListFile(
    "what-to-buy",
    {
        "Product": lambda row: row.product.name,
        "Still needed, mL": lambda row: row.need_ml,
        "In stock, mL": lambda row: row.stock_ml,
        "Buy": lambda row: ", ".join(f"{one.count} of {one.volume_ml} mL" for one in row.containers),
        "Left over, mL": lambda row: row.spare_ml,
        "Cost $": _cents("cost_cents"),
        "Supplier": lambda row: row.supplier,
    },
)
