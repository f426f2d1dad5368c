"""What the files of the lists about ground and field tell of each row."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from estimating.units import acres
from orders.desk.listed import ListFile, dollars, hours, person
from orders.desk.plan_words import plan_state, run_name


def _name(field: str) -> Callable[[Any], str]:
    """The name of what a row points at, or nothing."""
    return lambda row: getattr(getattr(row, field), "name", "")


def _number(row: Any) -> int | None:
    return row.order.number if row.order else None


FLAGS = ListFile(
    "flags",
    {
        "How pressing": lambda row: row.get_severity_display(),
        "What": lambda row: row.title,
        "Kind": lambda row: row.kind,
        "Site": _name("site"),
        "Order": _number,
        "Crew": _name("crew"),
        "Raised": lambda row: row.raised_at,
        "State": lambda row: row.get_state_display(),
    },
)
INCIDENTS = ListFile(
    "incidents",
    {
        "When": lambda row: row.at,
        "Kind": lambda row: row.get_kind_display(),
        "Site": _name("site"),
        "Crew": _name("crew"),
        "What happened": lambda row: row.what_happened,
        "Work was stopped": lambda row: "yes" if row.work_stopped else "no",
        "State": lambda row: "closed" if row.is_closed else "open",
    },
)
DEADLINES = ListFile(
    "deadlines",
    {
        "What": lambda row: row.title,
        "Kind": lambda row: row.get_kind_display(),
        "Site": _name("site"),
        "Due": lambda row: row.due_on,
        "State": lambda row: row.get_state_display(),
        "Done": lambda row: row.done_on,
        "Why": lambda row: row.because,
    },
)
REMINDERS = ListFile(
    "reminders",
    {
        "What": lambda row: row.subject,
        "Due": lambda row: row.deadline.due_on,
        "State of the deadline": lambda row: row.deadline.get_state_display(),
        "Told": lambda row: row.made_at,
        "Mailed": lambda row: row.handed_over_at,
        "Acknowledged": lambda row: row.acknowledged_at,
        "Put off until": lambda row: row.snoozed_until,
        "Why": lambda row: row.deadline.because,
    },
)
TABLETS = ListFile(
    "tablets",
    {
        "Tablet": lambda row: row.name,
        "People": lambda row: ", ".join(person(on.user) for on in row.users_now),
        "Last contact": lambda row: row.last_contact_at,
        "Version": lambda row: row.app_version,
        "Waiting there": lambda row: row.waiting_told,
        "Its clock less ours, seconds": lambda row: row.skew_seconds,
        "Works until": lambda row: row.expires_on,
        "Revoked": lambda row: row.revoked_at,
    },
)
SITES = ListFile(
    "sites",
    {
        "Code": lambda row: row.code,
        "Site": lambda row: row.name,
        "Patches": lambda row: row.patch_count,
        "Calendar records": lambda row: row.record_count,
        "State": lambda row: row.jurisdiction.name,
        "Drive, one way, minutes": lambda row: row.drive_minutes,
    },
)
CHOICES = ListFile(
    "choices",
    {
        "Made": lambda row: row.made_at,
        "By": lambda row: person(row.made_by),
        "What": lambda row: row.what,
        "Season": lambda row: row.season.name,
        "For": lambda row: str(row.asked),
        "Why": lambda row: row.why,
        "Prescriptions": lambda row: row.parts_count,
        "State": lambda row: row.get_state_display(),
    },
)
PRODUCTS = ListFile(
    "products",
    {
        "Product": lambda line: line["product"].name,
        "Registration": lambda line: line["product"].registration_number,
        "In use": lambda line: "yes" if line["product"].is_active else "no",
        "Herbicide": lambda line: "yes" if line["product"].is_herbicide else "no",
        "Signal word": lambda line: line["product"].signal_word,
        "Holds": lambda line: "; ".join(line["strengths"]),
        "Allowed uses": lambda line: ", ".join(line["uses"]),
        "Where": lambda line: ", ".join(line["product"].states),
        "To settle": lambda line: len(line["gaps"]),
        "Reviewed": lambda line: line["product"].reviewed_on,
        "Cautions": lambda line: line["product"].cautions,
    },
)
ORDERS = ListFile(
    "work-orders",
    {
        "Order": lambda row: row.number,
        "Season": lambda row: row.season.name,
        "Site": lambda row: row.site.name,
        "Crew": lambda row: row.crew.name,
        "First day": lambda row: row.first_day,
        "Last day": lambda row: row.last_day,
        "State": lambda row: row.get_state_display(),
        "Issued": lambda row: row.issued_at,
        "Closed": lambda row: row.closed_at,
    },
)


def _handed(row: Any, of_file: str, of_import: str) -> Any:
    return getattr(row.file, of_file) if row.file else getattr(row.imported, of_import)


SURVEY_FILES = ListFile(
    "survey-files",
    {
        "File": lambda row: _handed(row, "file_name", "file_name"),
        "State": lambda row: row.state,
        "Handed in": lambda row: _handed(row, "added_at", "asked_at"),
        "By": lambda row: person(_handed(row, "added_by", "asked_by")),
        "Rows added": lambda row: row.imported.rows_added if row.imported and not row.imported.dry_run else None,
        "Known": lambda row: row.imported.rows_known if row.imported else None,
    },
)
SAVED_MATCHES = ListFile(
    "saved-matches",
    {"Name": lambda row: row.name, "Made for the columns": lambda row: ", ".join(row.columns)},
)
RECORDS_OWED = ListFile(
    "records-owed",
    {
        "Used": lambda row: row.group.work_date,
        "Until": lambda row: row.group.ended_at,
        "Site": lambda row: row.group.site.name,
        "Applicator": lambda row: row.group.responsible.name,
        "Crew": lambda row: row.group.batch.crew.name,
        "Orders": lambda row: ", ".join(str(order.number) for order in row.group.orders),
        "State": lambda row: row.state,
        "Missing": lambda row: len(row.record.missing) if row.record else None,
        "Due": lambda row: row.due_on,
        "Rule": lambda row: row.profile.source,
    },
)
PATCHES = ListFile(
    "patches",
    {
        "Site": lambda line: line.patch.site.code,
        "Patch": lambda line: line.patch.code,
        "Name": lambda line: line.patch.name,
        "Growth forms": lambda line: ", ".join(line.forms),
        "Infested area, m2": lambda line: round(line.infested_area_m2, 1),
        "Cover, %": lambda line: round(line.cover * 100, 1),
        "State": lambda line: line.patch.get_control_state_display(),
        "Recommended": lambda line: line.leading_name if line.leading else "",
        "Because": lambda line: line.because,
        "Chosen": lambda line: ", ".join(
            f"{row.method.name}: {row.get_state_display().lower()}" for row in line.chosen
        ),
    },
)
RATE_BOOKS = ListFile(
    "rate-books",
    {
        "Rate book": lambda row: row.name,
        "Edition": lambda row: row.edition,
        "For": lambda row: row.get_crew_kind_display(),
        "State": lambda row: row.get_state_display(),
        "In force from": lambda row: row.in_force_from,
        "Until": lambda row: row.in_force_until,
    },
)
SEASONS = ListFile(
    "seasons",
    {
        "Season": lambda row: row.name,
        "First day": lambda row: row.first_day,
        "Last day": lambda row: row.last_day,
        "Prescriptions": lambda row: row.asked,
        "Budget $": lambda row: dollars(row.budget_cents),
    },
)
PRESCRIPTIONS = ListFile(
    "prescriptions",
    {
        "Site": lambda row: row.prescription.patch.site.code,
        "Patch": lambda row: row.prescription.patch.code,
        "Method": lambda row: row.prescription.method.name,
        "Left of the estimate, %": lambda row: round(row.prescription.share_left * 100, 1),
        "State": lambda row: row.prescription.get_state_display(),
        "Low h": lambda row: round(row.low_hours, 2),
        "Likely h": lambda row: round(row.likely_hours, 2),
        "High h": lambda row: round(row.high_hours, 2),
        "Low $": lambda row: round(row.low_dollars, 2),
        "Likely $": lambda row: round(row.likely_dollars, 2),
        "High $": lambda row: round(row.high_dollars, 2),
    },
)


def _figure(name: str, shown: Callable[[Any], Any] = lambda value: value) -> Callable[[Any], Any]:
    """Of a plan; one that is not done has none."""
    return lambda run: shown(run.figures[name]) if run.figures else None


PLANS = ListFile(
    "plans",
    {
        "Plan": run_name,
        "Kind": lambda run: run.get_purpose_display(),
        "State": lambda run: plan_state(run)[1],
        "Asked for": lambda run: run.asked_at,
        "By": lambda run: person(run.asked_by),
        "Cost $": lambda run: dollars(run.cost_cents),
        "Ground treated, acres": _figure("area_m2", lambda area_m2: round(acres(area_m2), 2)),
        "Deadlines met": _figure("deadlines_met"),
        "Deadlines owed": _figure("deadlines_owed"),
        "Person-hours": _figure("person_hours", lambda person_hours: round(person_hours, 1)),
        "Left out": _figure("left_out"),
    },
)
CALIBRATIONS = ListFile(
    "calibrations",
    {
        "Asked for": lambda run: run.asked_at,
        "By": lambda run: person(run.asked_by),
        "Season": lambda run: run.season.name,
        "Crews": lambda run: run.get_crew_kind_display(),
        "Rate book": lambda run: str(run.rate_book or ""),
        "State": lambda run: run.state,
        "Draft": lambda run: str(run.draft or ""),
    },
)
ORDERS_MEASURED = ListFile(
    "orders-measured",
    {
        "Work order": lambda row: row.order,
        "Site": lambda row: row.site,
        "Crew": lambda row: row.crew,
        "Low h": lambda row: round(row.low_hours, 2),
        "Estimated h": lambda row: round(row.estimated_hours, 2),
        "High h": lambda row: round(row.high_hours, 2),
        "Actual h": lambda row: round(row.actual_hours, 2),
        "Ratio": lambda row: round(row.ratio, 3),
        "Paid h stated": lambda row: round(row.recorded_paid_hours, 2),
    },
)


def day_sheets_file(day: date, codes: Mapping[str, str]) -> ListFile:
    """Of one day, with a column for each code of time that somebody has."""

    def of_code(code: str) -> Callable[[Any], Any]:
        return lambda row: hours(row.by_code[code])

    return ListFile(
        f"day-sheets-{day}",
        {
            "Day": lambda _: day,
            "Person": lambda row: row.person.name,
            "Crew": lambda row: row.sheet.crew.name if row.sheet else "",
            "Revision": lambda row: row.sheet.revision if row.sheet else None,
            **{f"{words}, h": of_code(code) for code, words in codes.items()},
            "Whole day, h": lambda row: hours(row.total) if row.sheet else None,
            "On orders, h": lambda row: hours(row.on_orders) if row.sheet else None,
            "In close-outs, h": lambda row: hours(row.closed),
            "Difference, h": lambda row: hours(row.difference) if row.sheet else None,
        },
    )
