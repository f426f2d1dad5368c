"""Surveys as a file for other programs: which ones, in which format. Page and API give the same file."""

import csv
import io
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import QuerySet

from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.spreadsheets import text_guarded
from orders.sites.convert import survey_columns, survey_export
from orders.sites.darwin_core import TERMS, archive, occurrences
from orders.sites.geofiles.areas import from_geojson
from orders.sites.geofiles.vocabulary import base_and_group, our_field
from orders.sites.geofiles.writing import Layer, NotWritten, geopackage
from orders.sites.models import Site, Survey
from orders.sites.selectors import surveys, surveys_current

LAYER = "surveys"
KINDS = {"code": "text", "text": "text", "answer": "text", "date": "day", "count": "whole"}


class FileNotMade(Refusal):
    """The library that writes the format gave up."""

    code = "file_not_made"
    title = "The file could not be made"
    status = 500


@dataclass(frozen=True)
class ExportAsk:
    """Which surveys: of these sites (none: all), the newest of each patch or all that stand, of these days."""

    file_format: str
    sites: Sequence[Site] = field(default=())
    newest: bool = True
    first_day: date | None = None
    last_day: date | None = None


@dataclass(frozen=True)
class ExportFile:
    """A file as it is handed out."""

    name: str
    media_type: str
    data: bytes
    count: int


@dataclass(frozen=True)
class Format:
    """A format: what people call it, what it is for, the ending of its file, and how it is written."""

    words: str
    about: str
    ending: str
    media_type: str
    write: Callable[[QuerySet[Survey], date], bytes]


def surveys_asked(ask: ExportAsk) -> QuerySet[Survey]:
    """The surveys of the question; void ones never."""
    rows = surveys_current() if ask.newest else surveys().filter(voided_at__isnull=True)
    if ask.sites:
        rows = rows.filter(patch__site__in=ask.sites)
    if ask.first_day:
        rows = rows.filter(observed_on__gte=ask.first_day)
    return rows.filter(observed_on__lte=ask.last_day) if ask.last_day else rows


def surveys_exported(ask: ExportAsk, *, at: datetime) -> ExportFile:
    """The file of these surveys; its name says the day on the program's clock."""
    known = FORMATS.get(ask.file_format)
    if known is None:
        raise Invalid("There is no such format.", [FieldError("format", f"must be one of {', '.join(FORMATS)}")])
    if ask.first_day and ask.last_day and ask.last_day < ask.first_day:
        raise Invalid("The days are the wrong way round.", [FieldError("to", "is before the first day")])
    day = at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)).date()
    rows = surveys_asked(ask)
    return ExportFile(f"surveys-{day.isoformat()}{known.ending}", known.media_type, known.write(rows, day), len(rows))


def _geojson(rows: QuerySet[Survey], on: date) -> bytes:
    """RFC 7946: WGS 84, longitude first, exteriors counter-clockwise, as surveys are stored."""
    return survey_export(rows).encode()


def _csv(rows: QuerySet[Survey], on: date) -> bytes:
    table = [
        {**columns, "wkt": from_geojson(json.dumps(survey.geometry)).wkt} for survey, columns in survey_columns(rows)
    ]
    return _table(list(table[0]) if table else ["wkt"], table, guard=True)


def _geopackage(rows: QuerySet[Survey], on: date) -> bytes:
    listed = survey_columns(rows)
    names = list(listed[0][1]) if listed else []
    layer = Layer(
        name=LAYER,
        kinds={name: _kind(name) for name in names},
        geometries=[from_geojson(json.dumps(survey.geometry)) for survey, _ in listed],
        rows=[columns for _, columns in listed],
    )
    try:
        return geopackage(layer)
    except NotWritten as broken:
        raise FileNotMade(
            "The GeoPackage could not be made. Take another format, and tell whoever looks after this."
        ) from broken


def _kind(name: str) -> str:
    ours = our_field(base_and_group(name)[0])
    return KINDS.get(ours.kind, "number") if ours else "text"


def _occurrence_table(rows: QuerySet[Survey], *, guard: bool) -> bytes:
    return _table(TERMS, occurrences(rows), guard=guard)


def _occurrences(rows: QuerySet[Survey], on: date) -> bytes:
    return _occurrence_table(rows, guard=True)


def _archive(rows: QuerySet[Survey], on: date) -> bytes:
    """Unguarded: an archive is read by programs, which would keep the guard as part of the text."""
    table = _occurrence_table(rows, guard=False).decode()
    return archive(table, program=settings.PROGRAM_NAME, on=on)


def _table(names: Sequence[str], rows: Iterable[dict[str, Any]], *, guard: bool) -> bytes:
    """RFC 4180. A text that a spreadsheet would run is guarded; numbers may begin with a minus."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    for row in rows:
        writer.writerow([_cell(row[name], guard) for name in names])
    return out.getvalue().encode()


def _cell(value: Any, guard: bool) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        return repr(value) if isinstance(value, float) else str(value)
    return text_guarded(value) if guard and not _is_number(value) else value


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


FORMATS: dict[str, Format] = {
    "geojson": Format(
        "GeoJSON",
        "For the web and most map programs; comes in here again.",
        ".geojson",
        "application/geo+json",
        _geojson,
    ),
    "gpkg": Format(
        "GeoPackage",
        "For desktop map programs; comes in here again.",
        ".gpkg",
        "application/geopackage+sqlite3",
        _geopackage,
    ),
    "csv": Format("CSV", "For spreadsheets, outlines as text; comes in here again.", ".csv", "text/csv", _csv),
    "dwc-csv": Format(
        "Darwin Core table",
        "One line an occurrence, in the terms of biodiversity records.",
        ".occurrences.csv",
        "text/csv",
        _occurrences,
    ),
    "dwc-archive": Format(
        "Darwin Core Archive",
        "The same with a description of its columns, for record centers.",
        ".dwca.zip",
        "application/zip",
        _archive,
    ),
}
