"""The import's background job: read the file beside, check its rows, and end the run with what came of them."""

from collections.abc import Callable
from concurrent.futures import Future, wait
from datetime import date
from threading import Thread
from typing import TypeVar

from django.conf import settings

from orders.common.runs import Worker
from orders.common.stamp import Stamp
from orders.sites.convert import Vocabulary, components_of, known_codes, survey_of
from orders.sites.geofiles.checks import check_rows
from orders.sites.geofiles.mapping import IDENTITY, FieldMapping, mapping_from_document
from orders.sites.geofiles.reading import read_file
from orders.sites.geofiles.records import Checked, FileRefused, RawFile
from orders.sites.limits import file_limits
from orders.sites.models import Site, SurveyImport
from orders.sites.services.survey_rows import Intake, ReadRow, survey_import_refuse, survey_import_settle
from orders.sites.services.trials import trial_rows

TICK_SECONDS = 1.0
Result = TypeVar("Result")


def survey_import_job(worker: Worker) -> None:
    """A file that is refused is work done, not a failure: the run ends either way, and the row says what came of it."""
    imported = SurveyImport.objects.get(pk=worker.run.pk)
    stamp = Stamp(by=imported.asked_by, at=worker.clock(), reason=f"Import of {imported.file_name}")
    try:
        intake = _intake(worker, imported, stamp)
    except FileRefused as refused:
        with worker.finishing():
            survey_import_refuse(imported=imported, refused=refused)
        return
    worker.progress(len(intake.rows), len(intake.rows), "Writing surveys")
    with worker.finishing():
        survey_import_settle(imported=imported, intake=intake, stamp=stamp)


def _intake(worker: Worker, imported: SurveyImport, stamp: Stamp) -> Intake:
    mapping = IDENTITY if imported.mapping is None else mapping_from_document(imported.mapping)
    raw = _read(worker, imported, mapping)
    checked = _check(worker, raw, mapping, _today(imported))
    rows = _prepared(worker, checked, stamp)
    return Intake(
        rows=rows,
        errors=checked.errors,
        warnings=checked.warnings,
        lines={row.number: row.line for row in raw.rows},
        trial=trial_rows(imported, raw, mapping) if imported.dry_run else [],
    )


def _read(worker: Worker, imported: SurveyImport, mapping: FieldMapping) -> RawFile:
    data, limits, layer = bytes(imported.file_bytes), file_limits(), imported.layer or None

    def read() -> RawFile:
        return read_file(data, imported.file_name, limits, layer, mapping=mapping)

    return _beside(worker, read, 0, "Reading the file")


def _today(imported: SurveyImport) -> date:
    """The latest day that anybody could have surveyed on: it begins at the eastern sites first."""
    zones = {settings.PROGRAM_TIME_ZONE, *Site.objects.values_list("time_zone", flat=True)}
    asked = Stamp(by=imported.asked_by, at=imported.asked_at)
    return max(asked.local_date(zone) for zone in zones)


def _check(worker: Worker, raw: RawFile, mapping: FieldMapping, today: date) -> Checked:
    known = known_codes()

    def check() -> Checked:
        return check_rows(raw, mapping, known, today)

    return _beside(worker, check, len(raw.rows), "Checking the rows")


def _prepared(worker: Worker, checked: Checked, stamp: Stamp) -> list[ReadRow]:
    """Everything that needs no database is done before the transaction begins."""
    rows, known = [], Vocabulary.read()
    for number, row in enumerate(checked.rows):
        worker.progress(number, len(checked.rows), "Preparing surveys")
        survey = survey_of(row, stamp=stamp)
        rows.append(ReadRow(row, survey, components_of(row, survey, known)))
    return rows


def _beside(worker: Worker, step: Callable[[], Result], total: int, note: str) -> Result:
    """Do a long step in a thread, while this one tells that the run is alive and heeds a call to stop.

    The step must not touch the database. A thread that is left behind ends with the process; the process that reads a
    file, by its own limits.
    """
    future: Future[Result] = Future()
    worker.progress(0, total, note)
    Thread(target=_fulfil, args=(future, step), daemon=True).start()
    while not wait([future], timeout=TICK_SECONDS).done:
        worker.progress(0, total, note)
    return future.result()


def _fulfil(future: "Future[Result]", step: Callable[[], Result]) -> None:
    try:
        future.set_result(step())
    except BaseException as error:
        future.set_exception(error)
