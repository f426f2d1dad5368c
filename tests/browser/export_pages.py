"""Files of reports, saved views and mailed reports in the states that look different."""

from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from orders.common.models import User
from orders.reports.models import ExportRun
from tests import build

AT = datetime(2026, 12, 1, 15, tzinfo=UTC)
SUM = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"


def _viewer() -> User:
    return User.objects.get(username="viewer")


def _run(**fields) -> ExportRun:
    run: ExportRun = build.ExportRunFactory(**{"asked_by": _viewer(), "asked_at": AT, **fields})
    return run


def _done(**fields) -> ExportRun:
    """With a file that can be fetched."""
    run = _run(state="done", finished_at=AT, rows_count=412, size_bytes=53_211, sha256=SUM, **fields)
    path = Path(settings.EXPORT_DIR) / str(run.public_id) / run.file_name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"a file")
    run.file_path = str(path.relative_to(Path(settings.EXPORT_DIR).parent))
    run.save(update_fields=["file_path"])
    return run


def exports() -> str:
    _done(file_name="ledger-2026-12-01.csv", report="ledger", query={"month_from": "2027-02", "month_to": "2027-02"})
    _run(state="done", finished_at=AT, file_name="cost-2026-10-01.pdf", file_format="pdf", rows_count=12)
    _run(state="running", progress_done=40_000, progress_total=180_000, progress_note="40,000 rows written")
    _run(state="failed", error="TotalWrong: Actual", finished_at=AT, asked_by=build.UserFactory(username="cal"))
    _run(report="month-end", query={"month": "2027-02"}, file_format="zip", state="canceled", finished_at=AT)
    return "/money/exports/"


def run_done() -> str:
    return f"/runs/{_done(file_name='cost-2026-12-01.csv').public_id}/"


def views() -> str:
    build.SavedViewFactory(owner=_viewer(), name="Grant by site and method", query={"by": "site", "and": "method"})
    other = build.UserFactory(username="cal", first_name="Cal", last_name="Alder", roles=["finance"])
    build.SavedViewFactory(owner=other, name="Month by category", query={"by": "month"}, is_shared=True)
    return "/money/views/"


def view_save() -> str:
    return "/money/views/save/?report=cost&by=site&and=method"


def _schedule():
    people = [build.UserFactory(username=name, first_name=name.title(), roles=["finance"]) for name in ("ada", "cal")]
    lost = build.UserFactory(username="lou", first_name="Lou", last_name="Lost")
    row = build.ReportScheduleFactory(
        name="Cost every Monday", every="week", made_by=_viewer(), recipients=[*people, lost]
    )
    run = _done(file_name="cost-2026-12-01.csv")
    build.ReportMailFactory(schedule=row, recipient=people[0], export=run, due_at=AT, sent_at=AT, mail_attempts=1)
    build.ReportMailFactory(
        schedule=row,
        recipient=lost,
        export=run,
        due_at=AT,
        mail_attempts=3,
        error="This person's role does not open the report any more.",
    )
    return row


def schedules() -> str:
    _schedule()
    build.ReportScheduleFactory(name="Ledger on day 3", report="ledger", every="month", on_day=3, is_active=False)
    return "/money/schedules/"


def schedule() -> str:
    return f"/money/schedules/{_schedule().public_id}/"


STATES = {
    "exports": exports,
    "exports-empty": lambda: "/money/exports/",
    "run-export-done": run_done,
    "views": views,
    "views-empty": lambda: "/money/views/",
    "view-save": view_save,
    "schedules": schedules,
    "schedules-empty": lambda: "/money/schedules/",
    "schedule-new": lambda: "/money/schedules/new/?report=cost&by=fund",
    "schedule": schedule,
}
