"""What a reader of one format hands on, and the limits that hold for all of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from orders.sites.geofiles.formats import Format
from orders.sites.geofiles.projecting import GeometryArray, choose_crs, to_wgs84
from orders.sites.geofiles.records import Cell, FileRefused, Limits, RawFile, RawProblem, RawRow

UNREADABLE = RawProblem(
    "geometry",
    "coordinates_unreadable",
    "A coordinate is not a number, or lies where its coordinate system does not reach.",
)


@dataclass(frozen=True, slots=True)
class ReadRequest:
    """How to read one file. The column names serve CSV only; None means: look for our own. `pair_field` is the field of
    a column that holds both coordinates. `look`: only say what is in the file."""

    filename: str
    limits: Limits = field(default_factory=Limits)
    layer: str | None = None
    crs: str | None = None
    close_tracks: bool = False
    decimal_comma: bool = False
    wkt_column: str | None = None
    longitude_column: str | None = None
    latitude_column: str | None = None
    pair_field: str | None = None
    pair_column: str | None = None
    look: bool = False


@dataclass(frozen=True, slots=True)
class Loaded:
    """Rows as they stand in the file: `cells[row][field]`, geometries in the file's own coordinate system.

    `numbers` are the rows' numbers where they do not simply count from 1, `lines` the line numbers of a CSV file;
    `problems` says, by position, what kept a row from being read.
    """

    layer: str | None
    crs: str | None
    fields: tuple[str, ...]
    geometries: GeometryArray
    cells: Sequence[Sequence[Cell]]
    numbers: Sequence[int] | None = None
    lines: Sequence[int] | None = None
    problems: Mapping[int, RawProblem] = field(default_factory=dict)


def finish(loaded: Loaded, file_format: Format, request: ReadRequest) -> RawFile:
    """Hold the limits and bring the geometries to WGS 84."""
    if not loaded.cells:
        raise FileRefused("empty_file", "The file holds no rows.")
    check_fields(len(loaded.fields), request.limits)
    check_features(len(loaded.cells), request.limits)
    check_vertices(loaded.geometries, request.limits)
    check_cells(loaded, request.limits)
    placed = to_wgs84(loaded.geometries, choose_crs(file_format, loaded.crs, request.crs))
    rows = _rows(_without_unreadable(replace(loaded, geometries=placed.geometries)))
    return RawFile(file_format, loaded.layer, placed.crs, loaded.fields, rows, placed.error_m)


def check_fields(count: int, limits: Limits) -> None:
    if count > limits.fields:
        raise FileRefused("too_many_fields", f"The file has {count} columns; at most {limits.fields} are taken.")


def check_features(count: int, limits: Limits) -> None:
    if count > limits.features:
        raise FileRefused("too_many_features", f"The file has more than {limits.features:,} rows. Split it.")


def check_vertices(geometries: GeometryArray, limits: Limits) -> None:
    if int(shapely.get_num_coordinates(geometries).sum()) > limits.vertices:
        raise FileRefused(
            "too_many_vertices",
            f"The outlines have more than {limits.vertices:,} points. Simplify them or split the file.",
        )


def check_cells(loaded: Loaded, limits: Limits) -> None:
    for number, cells in enumerate(loaded.cells, start=1):
        for name, cell in zip(loaded.fields, cells, strict=True):
            if isinstance(cell, str) and len(cell) > limits.cell_characters:
                raise FileRefused(
                    "cell_too_long",
                    f"Row {number}, column {name}: more than {limits.cell_characters:,} characters.",
                )


def _without_unreadable(loaded: Loaded) -> Loaded:
    """Locations that are not numbers, or off the edge of their coordinate system, become problems of their rows."""
    geometries = loaded.geometries.copy()
    problems = dict(loaded.problems)
    for position, geometry in enumerate(geometries):
        if not np.isfinite(shapely.get_coordinates(geometry)).all():
            geometries[position] = None
            problems[position] = UNREADABLE
    return replace(loaded, geometries=geometries, problems=problems)


def _rows(loaded: Loaded) -> tuple[RawRow, ...]:
    return tuple(
        RawRow(
            number=loaded.numbers[position] if loaded.numbers else position + 1,
            geometry=loaded.geometries[position],
            attributes=dict(zip(loaded.fields, cells, strict=True)),
            line=loaded.lines[position] if loaded.lines else None,
            problem=loaded.problems.get(position),
        )
        for position, cells in enumerate(loaded.cells)
    )
