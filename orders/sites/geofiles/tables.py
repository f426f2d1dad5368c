"""CSV as people save it: several encodings, three separators, geometry as WKT, in two columns or as a pair in one."""

import codecs
import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from orders.common.spreadsheets import text_unguarded
from orders.sites.geofiles.degrees import LATITUDE, LONGITUDE, PAIRS, Axis, Written, parse_coordinate, parse_pair
from orders.sites.geofiles.loading import Loaded, ReadRequest, check_features, check_fields
from orders.sites.geofiles.projecting import GeometryArray, counts_degrees
from orders.sites.geofiles.records import Cell, FileRefused, Limits, RawProblem
from orders.sites.geofiles.telling import names_within

SEPARATORS = ",;\t"
# A line before the heading by which spreadsheets are told the separator; they do not show it, nor count it as a row.
TOLD_SEPARATOR = re.compile(r'"?sep=([,;\t])"?\r?\n', re.IGNORECASE)
WKT = "wkt"
# Our own names of what tells the location, by its field.
OWN_NAMES: dict[str, tuple[str, ...]] = {
    WKT: ("wkt",),
    LONGITUDE: ("longitude", "lon"),
    LATITUDE: ("latitude", "lat"),
    **{name: (name,) for name in PAIRS},
}
OWN_WAYS: tuple[tuple[str, ...], ...] = ((WKT,), (LONGITUDE, LATITUDE), *((name,) for name in PAIRS))
# Columns under our own names hold longitude and latitude in WGS 84, as our form says.
OWN_CRS = "EPSG:4326"
PROBE_BYTES = 1000
OWN_SYSTEM = (
    "The location names a coordinate system of its own (SRID). Take that away, and name the system once for all rows."
)


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the table: its number below the heading, and the line of the file on which it begins."""

    row: int
    line: int
    cells: list[str]


@dataclass(frozen=True, slots=True)
class GeometryColumns:
    """Where a table keeps its geometry: positions of its columns by the field that each is, and how it writes them."""

    fields: tuple[str, ...]
    positions: dict[str, int]
    own_names: bool
    written: Written


def read_table(data: bytes, request: ReadRequest) -> Loaded:
    """All rows of a CSV file. A blank line is left out, but counts, so that row numbers agree with a spreadsheet."""
    lines = _lines(_decoded(data), request.limits)
    fields = _header(next(lines, Line(0, 1, [])))
    check_fields(len(fields), request.limits)
    where = _geometry_columns(fields, request)
    kept = _kept(lines, request.limits)
    read = [_geometry(line.cells, where) for line in kept]
    return Loaded(
        layer=None,
        crs=OWN_CRS if where.own_names and request.crs is None else None,
        fields=fields,
        geometries=_array([geometry for geometry, _ in read]),
        cells=[_attributes(line.cells, len(fields), where) for line in kept],
        numbers=[line.row for line in kept],
        lines=[line.line for line in kept],
        problems={position: problem for position, (_, problem) in enumerate(read) if problem},
    )


def look_table(data: bytes, request: ReadRequest) -> Loaded:
    """The same without asking where the location is: every cell as it stands."""
    lines = _lines(_decoded(data), request.limits)
    fields = _header(next(lines, Line(0, 1, [])))
    check_fields(len(fields), request.limits)
    kept = _kept(lines, request.limits)
    _check_heading(fields, kept)
    return Loaded(
        layer=None,
        crs=None,
        fields=fields,
        geometries=_array([None] * len(kept)),
        cells=[[_cell(line.cells, position) or None for position in range(len(fields))] for line in kept],
        numbers=[line.row for line in kept],
        lines=[line.line for line in kept],
    )


def _decoded(data: bytes) -> str:
    """The text by its byte order mark, else as UTF-8, else as the code page of older office programs."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encodings = ["utf-16"]
    elif b"\0" in data[:PROBE_BYTES]:
        encodings = [_utf16_without_mark(data)]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise FileRefused("unreadable", "The text of the file is in an encoding that is not known. Save it as UTF-8.")


def _utf16_without_mark(data: bytes) -> str:
    """Plain letters in UTF-16 have their zero byte second (little-endian) or first (big-endian)."""
    probe = data[:PROBE_BYTES]
    return "utf-16-le" if probe[1::2].count(0) >= probe[0::2].count(0) else "utf-16-be"


def _lines(text: str, limits: Limits) -> Iterator[Line]:
    csv.field_size_limit(limits.file_bytes)  # outlines are long; all other cells are held to their own limit later
    told = TOLD_SEPARATOR.match(text)
    table = text[told.end() :] if told else text
    reader = csv.reader(StringIO(table, newline=""), delimiter=told[1] if told else _separator(table), strict=True)
    begins = above = 2 if told else 1
    try:
        for row, cells in enumerate(reader):
            yield Line(row, begins, [text_unguarded(cell.strip()) for cell in cells])
            begins = reader.line_num + above
    except csv.Error as broken:
        raise FileRefused("unreadable", f"Line {begins}: a quotation mark is out of place.") from broken


def _separator(text: str) -> str:
    """The separator that the heading has most of; the first of ours where it has none."""
    heading = next((line for line in text.splitlines() if line.strip()), "")
    outside_quotes = "".join(heading.split('"')[::2])
    return max(SEPARATORS, key=outside_quotes.count)


def _header(line: Line) -> tuple[str, ...]:
    fields = line.cells
    while fields and not fields[-1]:
        fields = fields[:-1]
    named = tuple(name or f"column {position}" for position, name in enumerate(fields, start=1))
    twice = sorted({name for name in named if named.count(name) > 1})
    if twice:
        raise FileRefused("duplicate_column", f"Two columns are called {twice[0]}.", tuple(twice))
    return named


def _check_heading(fields: Sequence[str], kept: Sequence[Line]) -> None:
    """A title above the table would be taken for its heading, and every row for wrong."""
    wider = sum(any(line.cells[len(fields) :]) for line in kept)
    if 2 * wider > len(kept):
        raise FileRefused(
            "heading_missing",
            f"The first line names {len(fields)} column{'s' if len(fields) != 1 else ''}, but most rows have more. "
            "The names of the columns have to stand in the first line: take away what stands above them.",
        )


def _kept(lines: Iterator[Line], limits: Limits) -> list[Line]:
    kept: list[Line] = []
    for line in lines:
        if any(line.cells):
            kept.append(line)
            check_features(len(kept), limits)
    return kept


def _geometry_columns(fields: tuple[str, ...], request: ReadRequest) -> GeometryColumns:
    theirs = _named(request)
    for way in [tuple(theirs)] if theirs else OWN_WAYS:
        positions = {name: _position(fields, (theirs[name],) if theirs else OWN_NAMES[name]) for name in way}
        found = {name: position for name, position in positions.items() if position is not None}
        if len(found) == len(way):
            written = Written(request.decimal_comma, counts_degrees(request.crs))
            return GeometryColumns(fields, found, own_names=not theirs, written=written)
    raise FileRefused(
        "no_geometry_column",
        "No column holds the location. Have a column wkt, or longitude and latitude, or name yours in the mapping. "
        f"The file has: {names_within(fields) or 'no columns'}.",
        tuple(fields),
    )


def _named(request: ReadRequest) -> dict[str, str]:
    """The columns that the mapping names, by the field that each is."""
    if request.wkt_column:
        return {WKT: request.wkt_column}
    if request.pair_field and request.pair_column:
        return {request.pair_field: request.pair_column}
    both = {LONGITUDE: request.longitude_column, LATITUDE: request.latitude_column}
    return {name: column for name, column in both.items() if column}


def _position(fields: Sequence[str], names: Sequence[str]) -> int | None:
    folded = [field.casefold() for field in fields]
    return next((folded.index(name.casefold()) for name in names if name.casefold() in folded), None)


def _geometry(cells: Sequence[str], where: GeometryColumns) -> tuple[BaseGeometry | None, RawProblem | None]:
    if any(cells[len(where.fields) :]):
        return None, RawProblem("row", "too_many_cells", "The row has more cells than the heading has columns.")
    texts = {name: _cell(cells, position) for name, position in where.positions.items()}
    if not any(texts.values()):
        return None, None
    if WKT in texts:
        return _from_wkt(texts[WKT])
    pair = next((name for name in PAIRS if name in texts), None)
    return _from_pair(pair, texts[pair], where) if pair else _from_coordinates(texts, where)


def _from_wkt(text: str) -> tuple[BaseGeometry | None, RawProblem | None]:
    if text.casefold().startswith("srid="):
        return None, RawProblem("geometry", "geometry_unreadable", OWN_SYSTEM)
    geometry = shapely.from_wkt(text, on_invalid="ignore")
    if geometry is None:
        return None, RawProblem("geometry", "geometry_unreadable", "The location is not well-known text (WKT).")
    return shapely.force_2d(geometry), None


def _from_pair(name: str, text: str, where: GeometryColumns) -> tuple[BaseGeometry | None, RawProblem | None]:
    try:
        east, north = parse_pair(text, PAIRS[name], where.written)
    except ValueError as unreadable:
        return None, RawProblem(name, "geometry_unreadable", _said(name, unreadable, where))
    return shapely.Point(east, north), None


def _from_coordinates(
    texts: Mapping[str, str], where: GeometryColumns
) -> tuple[BaseGeometry | None, RawProblem | None]:
    axes: tuple[Axis, Axis] = (LONGITUDE, LATITUDE)
    found, wrong = [], {}
    for axis in axes:
        try:
            found.append(_coordinate(texts[axis], axis, where))
        except ValueError as unreadable:
            wrong[axis] = _said(axis, unreadable, where)
    if wrong:
        return None, RawProblem(next(iter(wrong)), "geometry_unreadable", " ".join(wrong.values()))
    return shapely.Point(*found), None


def _coordinate(text: str, axis: Axis, where: GeometryColumns) -> float:
    if not text:
        raise ValueError("it is blank")
    return parse_coordinate(text, axis, where.written)


def _said(name: str, why: ValueError, where: GeometryColumns) -> str:
    what = name if name in (LONGITUDE, LATITUDE) else "location"
    return f"The {what} in column {where.fields[where.positions[name]]} cannot be read: {why}."


def _attributes(cells: Sequence[str], width: int, where: GeometryColumns) -> list[Cell]:
    """Cells by column, blanks as None; well-known text is left out, since it has become the geometry."""
    wkt = where.positions.get(WKT)
    return [None if position == wkt else _cell(cells, position) or None for position in range(width)]


def _cell(cells: Sequence[str], position: int) -> str:
    return cells[position] if position < len(cells) else ""


def _array(geometries: Sequence[BaseGeometry | None]) -> GeometryArray:
    array = np.empty(len(geometries), dtype=object)
    array[:] = geometries
    return array
