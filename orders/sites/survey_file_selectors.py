"""Reads of files that were handed in: those on their way, what became of the others, and saved mappings."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, F, IntegerField, Q, QuerySet, Value, When

from orders.common.errors import NotFound
from orders.common.models.run import CANCELED, DONE, FAILED, QUEUED, RUNNING
from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.matching import columns_used
from orders.sites.models import NEW, OUTCOMES, SurveyFile, SurveyImport, SurveyMapping, TrialRow

WAITING, WORKING, TAKEN, CHECKED, REFUSED, UNDONE, BROKEN = (
    "waiting",
    "working",
    "taken",
    "checked",
    "refused",
    "undone",
    "broken",
)
STATES = (
    (WAITING, "On its way"),
    (WORKING, "At work"),
    (TAKEN, "Taken"),
    (CHECKED, "Checked only"),
    (REFUSED, "Refused"),
    (UNDONE, "Undone"),
    (BROKEN, "Broken off"),
)
_IMPORTS = {
    WAITING: Q(pk__in=[]),
    WORKING: Q(state__in=[QUEUED, RUNNING]),
    TAKEN: Q(state=DONE, refused=False, dry_run=False, undone_at__isnull=True),
    CHECKED: Q(state=DONE, refused=False, dry_run=True),
    REFUSED: Q(state=DONE, refused=True),
    UNDONE: Q(undone_at__isnull=False),
    BROKEN: Q(state__in=[FAILED, CANCELED]),
}


@dataclass(frozen=True)
class HandedIn:
    """A line of the list: a file on its way, or the import of one."""

    file: SurveyFile | None
    imported: SurveyImport | None

    @property
    def state(self) -> str:
        return WAITING if self.imported is None else import_state(self.imported)


def import_state(imported: SurveyImport) -> str:
    """What became of an import in one word; of a file that is still at work, that."""
    if imported.state in {QUEUED, RUNNING}:
        return WORKING
    if imported.undone_at is not None:
        return UNDONE
    if imported.state != DONE:
        return BROKEN
    if imported.refused:
        return REFUSED
    return CHECKED if imported.dry_run else TAKEN


def handed_in(*, text: str = "", state: str = "") -> QuerySet[Any]:
    """Keys of files and imports, the newest first, for a paginator; `handed_in_lines` makes lines of a page of them."""
    files = SurveyFile.objects.filter(taken__isnull=True)
    imports = SurveyImport.objects.filter(is_trial=False)
    if state:
        files = files if state == WAITING else files.none()
        imports = imports.filter(_IMPORTS[state])
    if text:
        files = files.filter(_holds("added_by", text))
        imports = imports.filter(_holds("asked_by", text))
    return _union(files, imports)


def _union(files: QuerySet[SurveyFile], imports: QuerySet[SurveyImport]) -> QuerySet[Any]:
    """With what the list can be sorted by; `id` is the key within its own table."""
    none = Value(None, output_field=IntegerField())
    of_files = files.order_by().annotate(at=F("added_at"), name=F("file_name"), added=none, known=none)
    added = Case(When(dry_run=False, then=F("rows_added")), output_field=IntegerField())
    of_imports = imports.order_by().annotate(at=F("asked_at"), name=F("file_name"), added=added, known=F("rows_known"))
    keys = "id", "at", "what", "name", "added", "known"
    files_told: QuerySet[Any] = of_files.annotate(what=Value("file")).values(*keys)
    imports_told = of_imports.annotate(what=Value("import")).values(*keys)
    return files_told.union(imports_told, all=True).order_by("-at", "-id")


def handed_in_lines(keys: Iterable[dict[str, Any]]) -> list[HandedIn]:
    """The lines of these keys, in their order, however many of them with the same questions to the database."""
    wanted = list(keys)
    files = survey_files().in_bulk([key["id"] for key in wanted if key["what"] == "file"])
    imports = (
        SurveyImport.objects.select_related("asked_by")
        .defer("file_bytes", "errors", "warnings", "mapping")
        .in_bulk([key["id"] for key in wanted if key["what"] == "import"])
    )
    return [
        HandedIn(files.get(key["id"]), None) if key["what"] == "file" else HandedIn(None, imports.get(key["id"]))
        for key in wanted
    ]


def _holds(by: str, text: str) -> Q:
    names = ("username", "first_name", "last_name")
    found = Q(file_name__icontains=text)
    for name in names:
        found |= Q(**{f"{by}__{name}__icontains": text})
    return found


def survey_files() -> QuerySet[SurveyFile]:
    """Newest first, without what is in them."""
    trials = ("trial__file_bytes", "trial__errors", "trial__warnings", "trial__mapping")
    taken = ("taken__file_bytes", "taken__errors", "taken__warnings", "taken__mapping")
    return (
        SurveyFile.objects.select_related("added_by", "trial", "taken")
        .defer("file_bytes", "found", "mapping", *trials, *taken)
        .order_by("-id")
    )


def survey_file_get(file_id: UUID) -> SurveyFile:
    found = (
        SurveyFile.objects.select_related("added_by", "trial", "taken")
        .defer("file_bytes", "trial__file_bytes", "taken__file_bytes")
        .filter(public_id=file_id)
        .first()
    )
    if found is None:
        raise NotFound("There is no such file on its way. It may have been dropped.")
    return found


def survey_file_of(imported: SurveyImport) -> SurveyFile | None:
    """The file that an import came of, where it was handed in by the pages."""
    return survey_files().filter(taken=imported).first()


@dataclass(frozen=True)
class LayerState:
    """A layer of a file with what became of it, whenever and by whomever the very same file was handed in."""

    name: str
    rows: int
    is_here: bool
    imported: SurveyImport | None
    file: SurveyFile | None

    @property
    def is_taken(self) -> bool:
        return self.imported is not None and self.imported.state == DONE

    @property
    def is_left(self) -> bool:
        """Nobody has taken it up yet, and it holds something."""
        return bool(self.rows) and not self.is_here and self.imported is None and self.file is None


def layer_states(row: SurveyFile) -> list[LayerState]:
    """The layers of a file that has several, in its order; of one that has not, none."""
    found = Found.of(row.found)
    if not found.layers:
        return []
    imports = _imports_by_layer(row)
    others = survey_files().filter(file_sha256=row.file_sha256, taken__isnull=True).exclude(pk=row.pk)
    files = {other.layer: other for other in others.exclude(file_bytes=b"").order_by("id")}
    return [
        LayerState(name, rows, name == found.layer, imports.get(name), files.get(name)) for name, rows in found.layers
    ]


def _imports_by_layer(row: SurveyFile) -> dict[str, SurveyImport]:
    """The newest import of each layer that took it and stands, or is at it."""
    standing = SurveyImport.objects.filter(
        file_sha256=row.file_sha256, dry_run=False, refused=False, undone_at__isnull=True
    ).filter(state__in=[QUEUED, RUNNING, DONE])
    listed = standing.defer("file_bytes", "errors", "warnings").order_by("id")
    return {imported.layer or (imported.mapping or {}).get("layer", ""): imported for imported in listed}


def survey_file_is_kept(row: SurveyFile) -> bool:
    return SurveyFile.objects.filter(pk=row.pk).exclude(file_bytes=b"").exists()


def survey_mappings() -> QuerySet[SurveyMapping]:
    return SurveyMapping.objects.order_by("name")


def survey_mapping_get(mapping_id: UUID) -> SurveyMapping:
    found = SurveyMapping.objects.filter(public_id=mapping_id).first()
    if found is None:
        raise NotFound("There is no such mapping.")
    return found


def mappings_for(fields: Iterable[str]) -> list[SurveyMapping]:
    """Saved mappings whose columns the file has, the ones made for most alike columns first."""
    there = {field.casefold() for field in fields}
    fitting = []
    for row in survey_mappings():
        used = {column.casefold() for column in columns_used(row.mapping.get("columns", {}))}
        made_for = {column.casefold() for column in row.columns}
        if used and used <= there:
            fitting.append((len(there & made_for) / max(1, len(there | made_for)), row))
    return [row for _, row in sorted(fitting, key=lambda each: -each[0])]


@dataclass(frozen=True)
class SiteChange:
    """What a trial would change at one site."""

    site_code: str
    new: int
    known: int
    new_patches: int


def trial_rows_of(imported: SurveyImport, outcome: str = "") -> QuerySet[TrialRow]:
    rows = TrialRow.objects.filter(imported=imported).order_by("number")
    return rows.filter(outcome=outcome) if outcome else rows


def trial_counts(imported: SurveyImport) -> dict[str, int]:
    """Rows by what would become of them; every outcome is there."""
    counted = TrialRow.objects.filter(imported=imported).order_by().values_list("outcome").annotate(Count("pk"))
    found = dict(counted)
    return {outcome: found.get(outcome, 0) for outcome, _ in OUTCOMES}


def trial_changes(imported: SurveyImport) -> list[SiteChange]:
    """By site, of the rows that could be read."""
    rows = (
        TrialRow.objects.filter(imported=imported, outcome__in=[NEW, "known"])
        .order_by("site_code")
        .values("site_code")
        .annotate(
            new=Count("pk", filter=Q(outcome=NEW)),
            known=Count("pk", filter=Q(outcome="known")),
            new_patches=Count("patch_code", filter=Q(outcome=NEW, new_patch=True), distinct=True),
        )
    )
    return [SiteChange(row["site_code"], row["new"], row["known"], row["new_patches"]) for row in rows]
