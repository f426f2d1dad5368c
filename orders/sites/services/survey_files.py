"""Files on their way in: looked into, matched, tried as a dry run, taken.

Nothing of a file counts as a survey before it is taken. Whatever changes how it is read makes its trial void, so that
what is taken is what was looked at.
"""

import hashlib
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.models.run import CANCELED, DONE, FAILED
from orders.common.rows import row_add, row_edit, row_remove
from orders.common.runs import run_cancel
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.geofiles.degrees import PAIRS
from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.matching import document_of, missing, source_of
from orders.sites.geofiles.reading import look_file
from orders.sites.geofiles.records import FileRefused, MappingRefused
from orders.sites.geofiles.resolving import resolve
from orders.sites.geofiles.vocabulary import PLACE
from orders.sites.limits import file_limits
from orders.sites.models import SurveyFile, SurveyImport, SurveyMapping, TrialRow
from orders.sites.services.surveys import file_name_plain, mapping_checked, survey_import_ask

KEEP_DAYS = 30
NOT_KEPT = "The file itself is no longer kept. Hand it in again."


@dataclass(frozen=True)
class LookedInto:
    """A file that could be opened, with what is in it."""

    data: bytes
    file_name: str
    found: Found


def survey_file_look(data: bytes, file_name: str, *, layer: str = "", crs: str = "") -> LookedInto:
    """Open the file in a process of its own. Takes a while and writes nothing: call it outside of a transaction."""
    if not data:
        raise Invalid("The file was not taken.", [FieldError("file", "The file is empty.")])
    try:
        found = look_file(data, file_name, file_limits(), layer or None, crs or None)
    except FileRefused as refused:
        code = refused.code if refused.code != "mapping" else "invalid"
        raise Invalid("The file was not taken.", [FieldError("file", refused.message, code=code)]) from refused
    return LookedInto(data, file_name_plain(file_name), found)


def survey_file_bytes(survey_file: SurveyFile) -> bytes:
    """The file as it came, or a refusal where it is no longer kept."""
    data = bytes(survey_file.file_bytes)
    if not data:
        raise WrongState(NOT_KEPT)
    return data


@writing()
def survey_file_add(
    *, looked: LookedInto, stamp: Stamp, mapping: dict[str, Any] | None = None, public_id: UUID | None = None
) -> SurveyFile:
    """Keep a file that was looked into; `mapping` is how it may be read, to be looked at by a person."""
    if stamp.by is None:
        raise WrongState("Somebody has to hand the file in.")
    row = SurveyFile(mapping=_plain(mapping), added_by=stamp.by, added_at=stamp.at, **_kept(looked))
    if public_id is not None:
        row.public_id = public_id
    row.save(force_insert=True)
    change_record(stamp=stamp, verb="survey_file_add", entity=row, after=_facts(row))
    return row


@writing()
def survey_file_replace(
    *, survey_file: SurveyFile, looked: LookedInto, stamp: Stamp, suggested: dict[str, Any] | None = None
) -> SurveyFile:
    """Another file in its place, such as a mended one or another layer: the matches stay, the trial does not. Where
    nobody has matched its columns yet, what is suggested for the new one goes in."""
    _open_check(survey_file)
    before = _facts(survey_file)
    _trial_drop(survey_file, stamp)
    for name, value in _kept(looked).items():
        setattr(survey_file, name, value)
    if survey_file.matched_at is None and suggested is not None:
        survey_file.mapping = _plain(suggested)
    survey_file.save()
    change_record(stamp=stamp, verb="survey_file_replace", entity=survey_file, before=before, after=_facts(survey_file))
    return survey_file


@writing()
def survey_file_match(*, survey_file: SurveyFile, mapping_text: str, stamp: Stamp) -> SurveyFile:
    """Say which of its columns is which of our facts."""
    _open_check(survey_file)
    mapping = mapping_checked(mapping_text, "The matches were not kept.")
    fit_check(Found.of(survey_file.found), mapping)
    if mapping == survey_file.mapping and survey_file.matched_at is not None:
        return survey_file
    before = {"mapping": survey_file.mapping}
    _trial_drop(survey_file, stamp)
    survey_file.mapping, survey_file.matched_at = mapping, stamp.at
    survey_file.save(update_fields=["mapping", "matched_at", "trial"])
    change_record(stamp=stamp, verb="survey_file_match", entity=survey_file, before=before, after={"mapping": mapping})
    return survey_file


@writing()
def survey_file_try(*, survey_file: SurveyFile, stamp: Stamp) -> SurveyImport:
    """Check every row in the background and add nothing. The same file with the same matches is tried anew, since the
    program's own surveys may have changed."""
    _open_check(survey_file)
    _matched_check(survey_file)
    if survey_file.trial is not None and not survey_file.trial.is_over:
        return survey_file.trial
    _trial_drop(survey_file, stamp)
    trial = survey_import_ask(**_asked(survey_file), dry_run=True, is_trial=True, keep_good_rows=True, stamp=stamp)
    survey_file.trial = trial
    survey_file.save(update_fields=["trial"])
    change_record(stamp=stamp, verb="survey_file_try", entity=survey_file, after={"trial": str(trial.public_id)})
    return trial


@writing()
def survey_file_take(*, survey_file: SurveyFile, keep_good_rows: bool, stamp: Stamp) -> SurveyImport:
    """Import it as it was tried. Every row is checked once more, against what is held by then."""
    _open_check(survey_file)
    trial = survey_file.trial
    if trial is None or trial.state != DONE:
        raise WrongState("Look at what the file would change first: its trial is not done.")
    if trial.refused:
        raise WrongState("Nothing of this file can be taken. Mend it, or change the matches.")
    if trial.errors and not keep_good_rows:
        detail = "Some rows cannot be taken, so nothing was."
        message = "Say that the good rows shall be taken without the others, or mend the file."
        raise Invalid(detail, [FieldError("keep_good_rows", message)])
    taken = survey_import_ask(**_asked(survey_file), keep_good_rows=keep_good_rows, stamp=stamp)
    survey_file.taken = taken
    survey_file.save(update_fields=["taken"])
    change_record(stamp=stamp, verb="survey_file_take", entity=survey_file, after={"taken": str(taken.public_id)})
    return taken


@writing()
def survey_file_drop(*, survey_file: SurveyFile, stamp: Stamp) -> None:
    """Let go of a file that was not taken; that it was handed in stays in the record of changes."""
    _open_check(survey_file)
    _trial_drop(survey_file, stamp)
    change_record(stamp=stamp, verb="survey_file_drop", entity=survey_file, before=_facts(survey_file))
    SurveyFile.objects.filter(pk=survey_file.pk).delete()


@writing()
def survey_mapping_add(
    *, name: str, columns: list[str], mapping_text: str, stamp: Stamp, public_id: UUID | None = None
) -> SurveyMapping:
    """Keep a mapping under a name, for the next file of its kind."""
    mapping = mapping_checked(mapping_text, "The mapping was not kept.")
    row = SurveyMapping(name=name.strip(), columns=columns, mapping=mapping)
    if public_id is not None:
        row.public_id = public_id
    return row_add(row, stamp=stamp, verb="survey_mapping_add")


@writing()
def survey_mapping_edit(*, row: SurveyMapping, expected: int, values: dict[str, Any], stamp: Stamp) -> SurveyMapping:
    return row_edit(row, stamp=stamp, verb="survey_mapping_edit", expected=expected, values=values)


@writing()
def survey_mapping_remove(*, row: SurveyMapping, expected: int, stamp: Stamp) -> None:
    """Files that were read by it keep their own copy."""
    row_remove(row, stamp=stamp, verb="survey_mapping_remove", expected=expected)


def survey_files_clean(*, at: datetime) -> int:
    """Remove the bytes of files that were handed in long ago, and the rows that their trials showed. An import keeps
    its own file. Returns how many files went."""
    before = at - timedelta(days=KEEP_DAYS)
    removed = 0
    for row in SurveyFile.objects.filter(added_at__lt=before).exclude(file_bytes=b"").order_by("id"):
        with writing():
            removed += SurveyFile.objects.filter(pk=row.pk).update(file_bytes=b"")
            change_record(
                stamp=Stamp(by=None, at=at), verb="survey_file_clean", entity=row, after={"file_name": row.file_name}
            )
    TrialRow.objects.filter(imported__in=_old_trials(before)).delete()
    _old_trials(before).exclude(file_bytes=b"").update(file_bytes=b"")
    return removed


def _old_trials(before: datetime) -> QuerySet[SurveyImport]:
    return SurveyImport.objects.filter(dry_run=True, state__in=[DONE, FAILED, CANCELED], asked_at__lt=before)


def fit_check(found: Found, document: dict[str, Any]) -> None:
    """Refuse a mapping that cannot read the file, with every fact that nothing is said of."""
    mapping = mapping_from_document(document)
    try:
        fitted = document_of(resolve(mapping, found.fields))
    except MappingRefused as refused:
        fitted = document_of(mapping)
        errors = [FieldError(refused.key, refused.message.partition(": ")[2])]
    else:
        errors = []
    columns = fitted["columns"]
    wanting = [
        FieldError(f"columns.{name}", "is needed: choose a column, or say it for all rows") for name in missing(columns)
    ]
    problems = [*(wanting or errors), *_place_problems(found, fitted)]
    if problems:
        raise Invalid("The matches are not complete.", problems)


def _place_problems(found: Found, document: dict[str, Any]) -> list[FieldError]:
    """Where the rows lie has to be told: by the file, or by the mapping."""
    said = "Name the coordinate system, such as EPSG:26916: ask whoever made the file."
    if not found.is_table:
        return [] if found.crs or document.get("crs") else [FieldError("crs", said)]
    columns = document["columns"]
    in_one = any(columns.get(name) for name in ("wkt", *PAIRS))
    if not (in_one or (columns.get("longitude") and columns.get("latitude"))):
        message = "is needed: the location as well-known text, or longitude and latitude in two columns or in one"
        return [FieldError("columns.longitude", message)]
    if strange := _place_strange(found, columns):
        return strange
    return [] if document.get("crs") else [FieldError("crs", said)]


def _place_strange(found: Found, columns: dict[str, Any]) -> list[FieldError]:
    """Columns of the location that the table does not have, however their letters are written."""
    there = {name.casefold() for name in found.fields}
    named = {name: str(source_of(columns[name]).get("column", "")) for name in PLACE if columns.get(name)}
    return [
        FieldError(f"columns.{name}", f"cannot come from {column}: the file has no such column")
        for name, column in named.items()
        if column.casefold() not in there
    ]


def _kept(looked: LookedInto) -> dict[str, Any]:
    return {
        "file_name": looked.file_name,
        "file_sha256": hashlib.sha256(looked.data).hexdigest(),
        "file_bytes": looked.data,
        "layer": looked.found.layer,
        "found": _plain(asdict(looked.found)),
    }


def _plain(value: Any) -> Any:
    """JSON that both databases keep: a stranger's text may hold the zero character, or halves of letters."""
    if isinstance(value, dict):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value.replace("\x00", "").encode(errors="replace").decode() if isinstance(value, str) else value


def _facts(row: SurveyFile) -> dict[str, Any]:
    return {"file_name": row.file_name, "file_sha256": row.file_sha256, "layer": row.layer, "mapping": row.mapping}


def _asked(survey_file: SurveyFile) -> dict[str, Any]:
    """What an import of the file is asked with."""
    return {
        "data": bytes(survey_file.file_bytes),
        "file_name": survey_file.file_name,
        "mapping": survey_file.mapping,
        "layer": survey_file.layer,
    }


def _open_check(survey_file: SurveyFile) -> None:
    """The row as it stands now: somebody else may have taken the file meanwhile."""
    survey_file.refresh_from_db(fields=["taken", "trial", "mapping", "matched_at", "layer"])
    taken = survey_file.taken
    failed = taken is not None and (taken.state in {FAILED, CANCELED} or taken.refused or taken.undone_at is not None)
    if taken is not None and not failed:
        raise WrongState("This file was taken already.")
    if not SurveyFile.objects.filter(pk=survey_file.pk).exclude(file_bytes=b"").exists():
        raise WrongState(NOT_KEPT)


def _matched_check(survey_file: SurveyFile) -> None:
    if survey_file.matched_at is None:
        raise WrongState("Say first which of the file's columns is which of our facts.")


def _trial_drop(survey_file: SurveyFile, stamp: Stamp) -> None:
    """What an earlier trial showed is not true any more; its run stays on record with its counts."""
    trial, survey_file.trial = survey_file.trial, None
    if trial is None:
        return
    if not trial.is_over:
        run_cancel(trial, at=stamp.at)
    TrialRow.objects.filter(imported=trial).delete()
