"""The job behind a file: written apart, attempt by attempt, and shown when it is whole."""

import re
import shutil
from collections.abc import Iterator, Sized
from contextlib import contextmanager
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings

from orders.common.errors import WrongState
from orders.common.runs import Worker
from orders.reports.about import about_of
from orders.reports.catalog import report_table
from orders.reports.files import Written, table_write
from orders.reports.handover import handover_write
from orders.reports.mail import report_mails_send
from orders.reports.models import ExportRun
from orders.reports.selectors import MONTH_END, report_check


def export_job(worker: Worker) -> None:
    """The rights are looked at again: whoever lost the role since gets no file."""
    run = ExportRun.objects.select_related("asked_by").get(pk=worker.run.pk)
    if run.asked_by is None:
        raise WrongState("Nobody asked for this file.")
    report_check(run.asked_by, run.report)
    with _folder(run, worker.attempt) as folder:
        written = handover_write(run, folder, worker) if run.report == MONTH_END else _table(run, folder, worker)
        with worker.finishing():
            ExportRun.objects.filter(pk=run.pk).update(
                file_name=written.path.name,
                file_path=str(written.path.relative_to(Path(settings.EXPORT_DIR).parent)),
                size_bytes=written.size_bytes,
                sha256=written.sha256,
                rows_count=written.rows,
            )
    report_mails_send(clock=worker.clock)


def _table(run: ExportRun, folder: Path, worker: Worker) -> Written:
    assert run.asked_by is not None  # looked at by the job
    table = report_table(run.asked_by, run.report, run.query)
    known = len(table.rows) if isinstance(table.rows, Sized) else 0
    worker.progress(0, max(known, 1), "Reading")

    def told(rows: int) -> None:
        worker.progress(rows, max(known, rows + 1), f"{rows:,} rows written")

    day = run.asked_at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)).date()
    name = f"{re.sub(r'[^a-z0-9-]', '-', run.report)}-{day}"
    about = about_of(run.asked_by, run.asked_at)
    return table_write(table, run.file_format, folder, name=name, about=about, told=told)


@contextmanager
def _folder(run: ExportRun, attempt: int) -> Iterator[Path]:
    """Of this attempt alone: one that was taken over may still be writing its own. What is unfinished is removed."""
    home = Path(settings.EXPORT_DIR) / str(run.public_id)
    folder = home / f"attempt-{attempt}"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    try:
        yield folder
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    for other in home.iterdir():
        if other != folder:
            shutil.rmtree(other, ignore_errors=True)
