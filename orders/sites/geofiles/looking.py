"""What is in a file whose columns nobody knows yet: layers, columns with their values, first rows, coordinate system.

Only the child process looks. What it says is plain JSON, held short whatever the file holds.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np
import shapely

from orders.sites.geofiles.degrees import Written, fields_read
from orders.sites.geofiles.formats import Format
from orders.sites.geofiles.loading import Loaded, ReadRequest, check_features, check_fields, check_vertices
from orders.sites.geofiles.projecting import choose_crs, to_wgs84
from orders.sites.geofiles.records import Cell, FileRefused
from orders.sites.geofiles.tables import look_table
from orders.sites.geofiles.values import (
    MILLISECONDS,
    NUMBER,
    are_comma_numbers,
    have_points,
    parse_day,
    text_of,
    with_point,
    write_decimal_commas,
)
from orders.sites.geofiles.vectors import layer_counts, read_layer

VALUES_LISTED = 60
EXAMPLES = 5
ROWS_SHOWN = 5
TEXT_SHOWN = 120
LONG_TEXT = 400  # nobody matches a text of this length word by word

# Ways in which people write days, in the terms of strptime; the empty one is year-month-day with anything behind it.
DAY_FORMATS = (
    "",
    "%m/%d/%Y",
    "%d/%m/%Y",
    "%m/%d/%y",
    "%m-%d-%Y",
    "%d-%m-%Y",
    "%d.%m.%Y",
    "%Y%m%d",
    "%b %d, %Y",
    "%B %d, %Y",
    "%d %b %Y",
    "%d %B %Y",
    "%d-%b-%Y",
    "%d-%b-%y",
    "%m/%d/%Y %H:%M",
    "%m/%d/%Y %H:%M:%S",
    "%m/%d/%Y %I:%M %p",
    "%m/%d/%Y %I:%M:%S %p",
    MILLISECONDS,
)


class Commas(StrEnum):
    """Whether a table's numbers have a comma for their decimal point."""

    NONE = "none"
    POSSIBLE = "possible"
    SURE = "sure"


@dataclass(frozen=True, slots=True)
class FoundColumn:
    """A column as its cells have it. `values` are (text, how often), the most frequent first: all of them where
    `is_listed`, else examples. `day_formats` are the ways of writing a day that read every cell; `decimal_comma`: its
    numbers are written as 35,5; `places` are the fields of a location that most cells could be, where they are more
    than plain numbers."""

    name: str
    kind: str  # empty, number, day, text
    blank: int
    distinct: int
    is_listed: bool
    values: tuple[tuple[str, int], ...]
    least: float | None = None
    most: float | None = None
    day_formats: tuple[str, ...] = ()
    decimal_comma: bool = False
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """What is in a file. `layers` are (name, rows) where there is a choice; `crs` is empty where the file names none
    that can be used, and `crs_trouble` then says so; `box` is in WGS 84, where that can be told."""

    format: str
    layers: tuple[tuple[str, int], ...]
    layer: str
    rows: int
    columns: tuple[FoundColumn, ...]
    first: tuple[tuple[str, ...], ...]
    crs: str = ""
    crs_trouble: str = ""
    shapes: tuple[tuple[str, int], ...] = ()
    box: tuple[float, float, float, float] | None = None

    @classmethod
    def of(cls, content: Mapping[str, Any]) -> "Found":
        """From the JSON that it was kept as."""
        columns = [FoundColumn(**{**column, **_pairs(column)}) for column in content["columns"]]
        return cls(
            **{
                **content,
                "layers": tuple((name, rows) for name, rows in content["layers"]),
                "columns": tuple(columns),
                "first": tuple(tuple(row) for row in content["first"]),
                "shapes": tuple((kind, count) for kind, count in content["shapes"]),
                "box": tuple(content["box"]) if content["box"] else None,
            }
        )

    @property
    def fields(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns)

    @property
    def is_table(self) -> bool:
        """A table keeps its location in columns, which have to be named."""
        return self.format == Format.CSV

    @property
    def has_decimal_commas(self) -> bool:
        return any(column.decimal_comma for column in self.columns)

    @property
    def is_lines(self) -> bool:
        """Walked tracks and routes: they enclose ground once their ends are joined."""
        return bool(self.shapes) and all("Line" in kind for kind, _ in self.shapes)

    def column(self, name: str | None) -> FoundColumn | None:
        return next((column for column in self.columns if column.name == name), None)


def _pairs(column: Mapping[str, Any]) -> dict[str, Any]:
    values = tuple((text, count) for text, count in column["values"])
    return {
        "values": values,
        "day_formats": tuple(column["day_formats"]),
        "places": tuple(column.get("places", ())),
    }


def look_into(data: bytes, file_format: Format, request: ReadRequest) -> Found:
    """The file, and one of its layers closely: the one asked for, or the one with most rows."""
    counts = {} if file_format == Format.CSV else layer_counts(data, file_format, request)
    if file_format == Format.CSV:
        loaded = look_table(data, request)
    else:
        layer = request.layer if request.layer is not None else max(counts, key=lambda name: counts[name], default=None)
        loaded = read_layer(data, file_format, replace(request, layer=layer))
    _check(loaded, request)
    commas = _commas(loaded) if file_format == Format.CSV else Commas.NONE
    crs, trouble, box = _placed(loaded, file_format, request)
    return Found(
        format=str(file_format),
        layers=tuple((name[:TEXT_SHOWN], rows) for name, rows in counts.items()) if len(counts) > 1 else (),
        layer=loaded.layer or "" if len(counts) > 1 else "",
        rows=len(loaded.cells),
        columns=tuple(
            _column(name, cells, commas) for name, cells in zip(loaded.fields, _columns(loaded), strict=True)
        ),
        first=tuple(tuple(_short(cell) for cell in row) for row in loaded.cells[:ROWS_SHOWN]),
        crs=crs,
        crs_trouble=trouble,
        shapes=tuple(sorted(Counter(shape.geom_type for shape in loaded.geometries if shape is not None).items())),
        box=box,
    )


def _check(loaded: Loaded, request: ReadRequest) -> None:
    if not loaded.cells:
        raise FileRefused("empty_file", "The file holds no rows.")
    check_fields(len(loaded.fields), request.limits)
    check_features(len(loaded.cells), request.limits)
    check_vertices(loaded.geometries, request.limits)


def _filled(cells: Sequence[Cell]) -> list[str]:
    return [text for cell in cells if (text := text_of(cell))]


def _columns(loaded: Loaded) -> Iterable[Sequence[Cell]]:
    return zip(*loaded.cells, strict=True) if loaded.fields else ()


def _placed(
    loaded: Loaded, file_format: Format, request: ReadRequest
) -> tuple[str, str, tuple[float, float, float, float] | None]:
    """The coordinate system, what is wrong with it, and the box round the shapes that lie somewhere."""
    if file_format == Format.CSV:
        return "", "", None
    try:
        placed = to_wgs84(loaded.geometries, choose_crs(file_format, loaded.crs, request.crs))
    except FileRefused as refused:
        return "", refused.message, None
    finite = [shape for shape in placed.geometries if shape is not None and np.isfinite(shape.bounds).all()]
    box = shapely.total_bounds(finite) if finite else np.array([np.nan])
    told = tuple(round(float(edge), 6) for edge in box) if np.isfinite(box).all() else None
    return placed.crs, "", told if told and len(told) == 4 else None


def _commas(loaded: Loaded) -> Commas:
    columns = [_filled(cells) for cells in _columns(loaded)]
    if have_points(columns):
        return Commas.NONE
    return Commas.SURE if write_decimal_commas(columns) else Commas.POSSIBLE


def _column(name: str, cells: Sequence[Cell], commas: Commas) -> FoundColumn:
    texts = [text_of(cell) for cell in cells]
    counted = Counter(text for text in texts if text)
    filled = sum(counted.values())
    is_listed = len(counted) <= VALUES_LISTED and all(len(text) <= LONG_TEXT for text in counted)
    shown = sorted(counted.items(), key=lambda found: (-found[1], found[0]))[: VALUES_LISTED if is_listed else EXAMPLES]
    decimal_comma = commas == Commas.SURE and are_comma_numbers(counted)
    numbers = _numbers(map(with_point, counted) if decimal_comma else counted)
    formats = tuple(form for form in DAY_FORMATS if _reads_days(counted, form)) if counted else ()
    finite = [number for number in numbers if np.isfinite(number)]
    kind = "empty" if not counted else "day" if formats else "number" if numbers else "text"
    places, with_commas = _places([text for text, _ in shown], commas) if kind == "text" else ((), False)
    return FoundColumn(
        name=name,
        kind=kind,
        blank=len(texts) - filled,
        distinct=len(counted),
        is_listed=is_listed,
        values=tuple((text if is_listed else text[:TEXT_SHOWN], count) for text, count in shown),
        least=min(finite, default=None),
        most=max(finite, default=None),
        day_formats=formats,
        decimal_comma=decimal_comma or with_commas,
        places=places,
    )


def _places(texts: Sequence[str], commas: Commas) -> tuple[tuple[str, ...], bool]:
    """What of a location the column could be, and whether it is read with decimal commas alone."""
    plainly = () if commas == Commas.SURE else fields_read(texts)
    if plainly or commas == Commas.NONE or are_comma_numbers(texts):
        return plainly, False
    with_commas = fields_read(texts, Written(decimal_comma=True))
    return with_commas, bool(with_commas)


def _numbers(texts: Iterable[str]) -> list[float]:
    """All of them, or none where one is something else."""
    listed = list(texts)
    return [float(text) for text in listed] if all(NUMBER.fullmatch(text) for text in listed) else []


def _reads_days(texts: Iterable[str], day_format: str) -> bool:
    """Whether every text is a day in the format, of a year in which somebody might have surveyed."""
    for text in texts:
        try:
            if not 1950 <= parse_day(text, day_format or None).year <= 2100:
                return False
        except ValueError:
            return False
    return True


def _short(cell: Cell) -> str:
    text = text_of(cell)
    return text if len(text) <= TEXT_SHOWN else f"{text[: TEXT_SHOWN - 1]}…"
