"""What becomes of a file's rows: known, refused or added; and the report of it on the import's own row.

Called inside the transaction that ends the run. Imports wait for each other there, so what is read here still holds
when it is written, and the same file handed in twice at once is stored once.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from orders.common.changes import changes_record
from orders.common.stamp import Stamp
from orders.sites.convert import file_refusal_of, finding_of, patch_said
from orders.sites.geofiles.records import FileRefused, RowError, RowFinding, RowWarning, SurveyRow
from orders.sites.models import BAD, KNOWN, NEW, Patch, Site, Survey, SurveyComponent, SurveyImport, TrialRow
from orders.sites.services.trials import Outcome, trial_rows_add

BATCH = 500
PatchKey = tuple[str, str]
SurveyKey = tuple[str, str, date]


@dataclass(frozen=True)
class ReadRow:
    """A checked row, and the survey that it would be, made before the transaction begins so that this is short."""

    row: SurveyRow
    survey: Survey
    components: Sequence[SurveyComponent]

    @property
    def patch_key(self) -> PatchKey:
        return self.row.site_code, self.row.patch_code

    @property
    def key(self) -> SurveyKey:
        return self.row.site_code, self.row.patch_code, self.row.observed_on


@dataclass(frozen=True)
class Intake:
    """What was made of a file without looking at the surveys that are held. `lines` are those of a CSV, by row; `trial`
    are the rows that a dry run shows, without what becomes of them."""

    rows: Sequence[ReadRow]
    errors: Sequence[RowFinding]
    warnings: Sequence[RowFinding]
    lines: Mapping[int, int | None]
    trial: Sequence[TrialRow] = ()


@dataclass
class Judged:
    """Rows against the surveys that are held."""

    fresh: list[ReadRow] = field(default_factory=list)
    known: list[ReadRow] = field(default_factory=list)
    errors: list[RowFinding] = field(default_factory=list)


@dataclass
class Places:
    """The patches that the fresh rows need: those that are there, and those to be made, in the file's order."""

    held: dict[PatchKey, Patch]
    missing: list[PatchKey]
    warnings: list[RowFinding]


def survey_import_settle(*, imported: SurveyImport, intake: Intake, stamp: Stamp) -> None:
    """Take the rows, all or nothing unless the good ones were asked for, and report."""
    judged = _judge(intake)
    errors = sorted([*intake.errors, *judged.errors], key=lambda found: found.row)
    refused = bool(errors) and not (imported.keep_good_rows and (judged.fresh or judged.known))
    fresh = [] if refused else judged.fresh
    places = _places(fresh, intake.lines)
    if imported.dry_run:
        findings = [*errors, *intake.warnings, *places.warnings]
        trial_rows_add(intake.trial, _outcomes(judged, errors), set(places.missing), {found.row for found in findings})
    else:
        patches = places.held | _patches_add(places.missing, fresh, stamp)
        _surveys_add(imported, fresh, patches, stamp)
    left_out = [] if refused else _left_out(intake, errors)
    warnings = sorted([*intake.warnings, *places.warnings, *left_out], key=lambda found: found.row)
    SurveyImport.objects.filter(pk=imported.pk).update(
        refused=refused,
        rows_read=len(intake.lines),
        rows_added=sum(len(read.row.rows) for read in fresh),
        rows_known=sum(len(read.row.rows) for read in judged.known),
        surveys_added=len(fresh),
        patches_added=len(places.missing),
        errors=[finding_of(found) for found in errors],
        warnings=[finding_of(found) for found in warnings],
    )


def _outcomes(judged: Judged, errors: Iterable[RowFinding]) -> dict[int, Outcome]:
    """What becomes of each row of the file; one that is in neither stays out with a bad one of its survey."""
    good = [*((NEW, read) for read in judged.fresh), *((KNOWN, read) for read in judged.known)]
    told = {number: Outcome(word, read.key) for word, read in good for number in read.row.rows}
    return {**told, **{found.row: Outcome(BAD) for found in errors}}


def survey_import_refuse(*, imported: SurveyImport, refused: FileRefused) -> None:
    """The file as a whole was not taken: report why."""
    SurveyImport.objects.filter(pk=imported.pk).update(refused=True, errors=[file_refusal_of(refused)])


def _judge(intake: Intake) -> Judged:
    """A row that is held already is known by its fingerprint; other content for the same patch and day is refused,
    since surveys are never overwritten."""
    sites = {read.row.site_code for read in intake.rows}
    standing, ended = _standing(sites), _ended(sites)
    judged = Judged()
    for read in intake.rows:
        there = standing.get(read.key, set())
        if read.survey.fingerprint in there:
            judged.known.append(read)
        elif there:
            judged.errors.append(_another(read, intake.lines))
        elif read.patch_key in ended and read.row.observed_on >= ended[read.patch_key]:
            judged.errors.append(_gone(read, ended[read.patch_key], intake.lines))
        else:
            judged.fresh.append(read)
    return judged


def _standing(site_codes: set[str]) -> dict[SurveyKey, set[str]]:
    """Fingerprints of the surveys that stand, by patch and day."""
    rows = (
        Survey.objects.filter(voided_at__isnull=True, patch__site__code__in=site_codes)
        .order_by("id")
        .values_list("patch__site__code", "patch__code", "observed_on", "fingerprint")
    )
    standing: dict[SurveyKey, set[str]] = {}
    for site_code, patch_code, observed_on, fingerprint in rows:
        standing.setdefault((site_code, patch_code, observed_on), set()).add(fingerprint)
    return standing


def _ended(site_codes: set[str]) -> dict[PatchKey, date]:
    """Patches in whose place others stand, and since when."""
    rows = Patch.objects.filter(site__code__in=site_codes, ended_on__isnull=False).order_by("id")
    told = rows.values_list("site__code", "code", "ended_on")
    return {(site_code, code): on for site_code, code, on in told if on is not None}


def _gone(read: ReadRow, ended_on: date, lines: Mapping[int, int | None]) -> RowError:
    reason = (
        f"Patch {read.row.patch_code} at {read.row.site_code} ended on {ended_on.isoformat()}: it was split or merged. "
        "Name the patch that stands in its place."
    )
    number = read.row.rows[0]
    return RowError(number, "patch_code", "patch_ended", reason, lines.get(number))


def _another(read: ReadRow, lines: Mapping[int, int | None]) -> RowError:
    site_code, patch_code, observed_on = read.key
    reason = (
        f"Another survey of patch {patch_code} at {site_code} on {observed_on.isoformat()} exists, and says something "
        "else. Surveys are not overwritten: void that one first, or correct the date."
    )
    number = read.row.rows[0]
    return RowError(number, "observed_on", "survey_exists", reason, lines.get(number))


def _places(fresh: Sequence[ReadRow], lines: Mapping[int, int | None]) -> Places:
    there = _patch_ids({read.row.site_code for read in fresh})
    wanted = {read.patch_key for read in fresh} & set(there)
    held = Patch.objects.in_bulk([there[key] for key in wanted])
    places = Places({key: held[there[key]] for key in wanted}, [], [])
    seen = set(there)
    alike = {_folded(key): key for key in there}
    for read in fresh:
        if read.patch_key in places.held:
            places.warnings += _unheeded(read, places.held[read.patch_key], lines)
        if read.patch_key in seen:
            continue
        if _folded(read.patch_key) in alike:
            places.warnings.append(_alike(read, alike[_folded(read.patch_key)], lines))
        seen.add(read.patch_key)
        alike.setdefault(_folded(read.patch_key), read.patch_key)
        places.missing.append(read.patch_key)
    return places


def _patch_ids(site_codes: set[str]) -> dict[PatchKey, int]:
    rows = Patch.objects.filter(site__code__in=site_codes).order_by("id").values_list("site__code", "code", "pk")
    return {(site_code, code): pk for site_code, code, pk in rows}


def _folded(key: PatchKey) -> PatchKey:
    return key[0], key[1].casefold()


def _alike(read: ReadRow, other: PatchKey, lines: Mapping[int, int | None]) -> RowWarning:
    number = read.row.rows[0]
    reason = f"{read.row.patch_code} becomes a patch of its own beside {other[1]}: only the case of letters differs."
    return RowWarning(number, "patch_code", "patch_code_alike", reason, lines.get(number))


def _unheeded(read: ReadRow, patch: Patch, lines: Mapping[int, int | None]) -> list[RowFinding]:
    """A patch that is there is changed by people, not by files: say where the row wants it otherwise."""
    stands = {
        "patch_name": patch.name,
        "target_cover_percent": round(patch.target_cover * 100, 6),
        "control_state": patch.control_state,
    }
    number = read.row.rows[0]
    return [
        RowWarning(
            number,
            name,
            "patch_not_changed",
            f"The row says {value}; the patch stays at {stands[name] or 'no name'}. Change it on the patch itself.",
            lines.get(number),
        )
        for name, value in read.survey.patch_said.items()
        if value != stands[name]
    ]


def _patches_add(missing: Sequence[PatchKey], fresh: Sequence[ReadRow], stamp: Stamp) -> dict[PatchKey, Patch]:
    """New patches, with what the newest of their rows says of them."""
    sites = {site.code: site for site in Site.objects.filter(code__in={code for code, _ in missing}).order_by("id")}
    said: dict[PatchKey, dict[str, Any]] = {key: {} for key in missing}
    for read in sorted(fresh, key=lambda read: read.row.observed_on):
        if read.patch_key in said:
            said[read.patch_key] |= patch_said(read.row)
    made = {key: _patch(sites[key[0]], key[1], said[key]) for key in missing}
    Patch.objects.bulk_create(made.values(), batch_size=BATCH)
    written = [(patch, {"site": key[0], "code": key[1], **said[key]}) for key, patch in made.items()]
    changes_record(stamp=stamp, verb="patch_add", written=written)
    return made


def _patch(site: Site, code: str, said: Mapping[str, Any]) -> Patch:
    patch = Patch(site=site, code=code, name=said.get("patch_name", ""))
    if "target_cover_percent" in said:
        patch.target_cover = said["target_cover_percent"] / 100
    if "control_state" in said:
        patch.control_state = said["control_state"]
    return patch


def _surveys_add(
    imported: SurveyImport, fresh: Sequence[ReadRow], patches: Mapping[PatchKey, Patch], stamp: Stamp
) -> None:
    for read in fresh:
        read.survey.patch = patches[read.patch_key]
        read.survey.source = imported
    surveys = Survey.objects.bulk_create([read.survey for read in fresh], batch_size=BATCH)
    components = [component for read in fresh for component in read.components]
    SurveyComponent.objects.bulk_create(components, batch_size=BATCH)
    changes_record(stamp=stamp, verb="survey_add", written=[(survey, _told(survey, imported)) for survey in surveys])


def _told(survey: Survey, imported: SurveyImport) -> dict[str, Any]:
    return {
        "patch": str(survey.patch.public_id),
        "observed_on": survey.observed_on.isoformat(),
        "import": str(imported.public_id),
        "row": survey.source_row,
    }


def _left_out(intake: Intake, errors: Iterable[RowFinding]) -> list[RowFinding]:
    """Good rows that stay out with a bad one, since together they are one survey. Every row is accounted for."""
    accounted = {found.row for found in errors} | {number for read in intake.rows for number in read.row.rows}
    reason = "Not taken: another row of the same patch and day is wrong, and together they are one survey."
    return [
        RowWarning(number, "row", "left_out_with_others", reason, line)
        for number, line in intake.lines.items()
        if number not in accounted
    ]
