"""Survey files handed in, and surveys taken back.

A file is kept as it came. The import's row is the job: a worker reads the file in a process of its own and ends the
run, whatever came of the rows (orders.sites.runs). Surveys are never changed or deleted, only voided with a reason.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Exists, OuterRef, QuerySet

from orders.common.changes import change_record, changes_record
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.models.run import CANCELED, DONE
from orders.common.rows import Findings
from orders.common.runs import Tell, run_claim, run_end, run_perform, run_wake
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.records import MappingRefused
from orders.sites.models import Patch, Survey, SurveyImport
from orders.sites.services.reasons import reason_check, storable

MAPPING_CHARACTERS = 200_000
FILE_NAME_CHARACTERS = 200
LAYER_CHARACTERS = 120
ESCAPED_NUL = "\\u0000"

Hold = Callable[[QuerySet[Survey]], QuerySet[Survey]]
_HOLDS: dict[str, Hold] = {}


def survey_hold_register(why: str, hold: Hold) -> None:
    """A later stage says which surveys must stand, and why; called from its AppConfig.ready()."""
    _HOLDS[why] = hold


@dataclass(frozen=True)
class ImportUndone:
    """What an undo did: how many surveys it voided, and the patches that now have no survey at all."""

    imported: SurveyImport
    surveys_voided: int
    patches_bare: list[Patch]


@writing()
def survey_import_ask(
    *,
    data: bytes,
    file_name: str,
    stamp: Stamp,
    mapping_text: str = "",
    mapping: dict[str, Any] | None = None,
    layer: str = "",
    dry_run: bool = False,
    is_trial: bool = False,
    keep_good_rows: bool = False,
    public_id: UUID | None = None,
) -> SurveyImport:
    """Keep the file and queue its import. The same id with the same file is the same request. A `mapping` was checked
    already; a text is checked here."""
    imported = _asked(
        data=data,
        file_name=file_name,
        mapping_text=mapping_text,
        mapping=mapping,
        layer=layer,
        dry_run=dry_run,
        keep_good_rows=keep_good_rows,
    )
    imported.is_trial = is_trial
    if public_id is not None:
        if held := SurveyImport.objects.filter(public_id=public_id).first():
            return _same_request(held, imported)
        imported.public_id = public_id
    _import_add(imported, stamp)
    run_wake(imported)
    return imported


def survey_import_now(
    *, stamp: Stamp, clock: Callable[[], datetime], tell: Tell | None = None, **asked: Any
) -> SurveyImport:
    """Ask and perform in this process, for the terminal: no worker is needed. Takes what `survey_import_ask` takes."""
    imported = _asked(**asked)
    with writing():  # claimed before anybody can see it, so that no worker takes it
        _import_add(imported, stamp)
        attempt = run_claim(imported, at=stamp.at)
        if attempt is None:
            raise WrongState("Another background job is at work. Try again when it has ended.")
    try:
        state = run_perform(imported, attempt, clock=clock, tell=tell)
    except KeyboardInterrupt:  # else a worker would take the row up where the person at the terminal wanted it to stop
        run_end(imported, attempt, state=CANCELED, at=clock())
        raise
    if state == "fenced":
        raise WrongState("A worker took this import over because it was silent for too long. Look at its page.")
    return SurveyImport.objects.get(pk=imported.pk)


def _asked(
    *,
    data: bytes,
    file_name: str,
    mapping_text: str = "",
    mapping: dict[str, Any] | None = None,
    layer: str = "",
    dry_run: bool = False,
    keep_good_rows: bool = False,
) -> SurveyImport:
    """The row of a request that is sound as far as can be told without reading the file."""
    found = Findings()
    most = settings.SURVEY_FILE_MAX_BYTES
    found.need(len(data) <= most, "file", f"The file is larger than {most // 1024**2} MB.")
    found.need(len(data) > 0, "file", "The file is empty.")
    found.need(layer == storable(layer)[:LAYER_CHARACTERS], "layer", "This is not the name of a layer.")
    mapping = mapping if mapping is not None else _mapping(mapping_text, found)
    found.refuse("The file was not taken.")
    return SurveyImport(
        file_name=file_name_plain(file_name),
        file_sha256=hashlib.sha256(data).hexdigest(),
        file_bytes=data,
        mapping=mapping,
        layer=layer,
        dry_run=dry_run,
        keep_good_rows=keep_good_rows,
    )


def file_name_plain(file_name: str) -> str:
    """Without folders, and without its beginning where it is too long: the ending tells the format."""
    last = storable(file_name).replace("\\", "/").rpartition("/")[2]
    return last[-FILE_NAME_CHARACTERS:] or "survey"


def mapping_checked(text: str, detail: str) -> Any:
    """The mapping of a text, or a refusal that names the place in it that is wrong."""
    found = Findings()
    mapping = _mapping(text, found)
    found.need(mapping is not None or bool(found.errors), "mapping", "The mapping is empty.")
    found.refuse(detail)
    return mapping


def _mapping(text: str, found: Findings) -> Any:
    """The mapping as a document that both databases can keep, or None with the reason found."""
    if not text.strip():
        return None
    if len(text) > MAPPING_CHARACTERS:
        found.need(False, "mapping", f"The mapping is longer than {MAPPING_CHARACTERS:,} characters.")
        return None
    try:
        document = json.loads(text)
        mapping_from_document(document)
        kept = json.dumps(document, allow_nan=False, ensure_ascii=False).encode().decode()
    except MappingRefused as refused:
        found.need(False, "mapping", refused.message)
    except (ValueError, RecursionError) as broken:
        found.need(False, "mapping", f"The mapping is not JSON: {broken}.")
    else:
        found.need(ESCAPED_NUL not in kept, "mapping", "The mapping holds characters that are not text.")
        return document
    return None


def _import_add(imported: SurveyImport, stamp: Stamp) -> None:
    imported.asked_by, imported.asked_at = stamp.by, stamp.at
    imported.save(force_insert=True)
    after = {
        "file_name": imported.file_name,
        "file_sha256": imported.file_sha256,
        "dry_run": imported.dry_run,
        "keep_good_rows": imported.keep_good_rows,
    }
    change_record(stamp=stamp, verb="survey_import_ask", entity=imported, after=after)


def _same_request(held: SurveyImport, asked: SurveyImport) -> SurveyImport:
    names = ("file_sha256", "mapping", "layer", "dry_run", "keep_good_rows")
    if any(getattr(held, name) != getattr(asked, name) for name in names):
        detail = "Another import has this id already."
        raise Invalid(detail, [FieldError("public_id", "is taken by another import", code="unique")])
    return held


@writing()
def survey_import_undo(*, imported: SurveyImport, stamp: Stamp) -> ImportUndone:
    """Void the surveys of an import. Patches stay; those that have no other survey are told."""
    reason_check(stamp, "Nothing was voided.")
    surveys = Survey.objects.filter(source=imported, voided_at__isnull=True)
    _held_refuse(surveys)
    undone = SurveyImport.objects.filter(
        pk=imported.pk, state=DONE, refused=False, dry_run=False, undone_at__isnull=True
    ).update(undone_at=stamp.at)
    if not undone:
        raise WrongState("Only an import that added its rows, and was not undone before, can be undone.")
    imported.undone_at = stamp.at
    voided = _void(surveys, stamp)
    bare = _patches_bare(imported)
    after = {"surveys_voided": voided, "patches_bare": [str(patch) for patch in bare]}
    change_record(stamp=stamp, verb="survey_import_undo", entity=imported, after=after)
    return ImportUndone(imported, voided, bare)


@writing()
def survey_void(*, survey: Survey, stamp: Stamp) -> Survey:
    """Take one survey back. It stays on record with the reason, and counts no more."""
    reason_check(stamp, "Nothing was voided.")
    standing = Survey.objects.filter(pk=survey.pk, voided_at__isnull=True)
    _held_refuse(standing)
    if not _void(standing, stamp):
        raise WrongState(f"The survey of {survey.patch} on {survey.observed_on} is void already.")
    survey.refresh_from_db()
    return survey


def _held_refuse(surveys: QuerySet[Survey]) -> None:
    """Refuse where a later stage needs one of the surveys; say how many, and for what."""
    held = {why: hold(surveys).count() for why, hold in _HOLDS.items()}
    needed = {why: count for why, count in held.items() if count}
    if needed:
        told = "; ".join(f"{count} of them {why}" for why, count in needed.items())
        raise WrongState(f"{surveys.count()} surveys would be voided, but {told}.", data={"held": needed})


def _void(surveys: QuerySet[Survey], stamp: Stamp) -> int:
    rows = list(surveys.order_by("id"))
    after = {"voided_at": stamp.at.isoformat(), "void_reason": stamp.reason}
    changes_record(stamp=stamp, verb="survey_void", written=[(survey, after) for survey in rows])
    return surveys.update(voided_at=stamp.at, void_reason=stamp.reason)


def _patches_bare(imported: SurveyImport) -> list[Patch]:
    standing = Survey.objects.filter(patch=OuterRef("pk"), voided_at__isnull=True)
    patches = Patch.objects.filter(surveys__source=imported).exclude(Exists(standing)).distinct()
    return list(patches.select_related("site").order_by("site__code", "code"))
