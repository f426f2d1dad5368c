"""A mapping meets a file: do its columns exist, and has every needed field a source?"""

from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches

from orders.sites.geofiles.mapping import FieldMapping, Source, Sources, grouped
from orders.sites.geofiles.records import MappingRefused
from orders.sites.geofiles.telling import names_within
from orders.sites.geofiles.vocabulary import COMPONENT, COMPONENT_FIELDS, PLACE, ROW, ROW_FIELDS, our_field

# Short names that our own form allows beside a field's full one.
SHORT_NAMES = {"cover": "cover_percent", "lon": "longitude", "lat": "latitude"}
SHAPEFILE_NAME_CHARACTERS = 10


def resolve(mapping: FieldMapping, fields: Sequence[str]) -> FieldMapping:
    """The mapping for a file with these columns, or `MappingRefused`."""
    fitted = _own_names(mapping, fields) if mapping.is_identity else _spelled_as_in_file(mapping, fields)
    _refuse_missing(fitted, fields)
    return fitted


def unused_columns(mapping: FieldMapping, fields: Sequence[str]) -> list[str]:
    """Columns of the file that a resolved mapping does not read; a table's location is read in any case."""
    sources = [*mapping.row.values(), *mapping.place.values()]
    sources += [source for group in mapping.groups.values() for source in group.values()]
    used = {source.column for source in sources}
    return [column for column in fields if column not in used and _own_name(column) not in PLACE]


def _own_names(mapping: FieldMapping, fields: Sequence[str]) -> FieldMapping:
    sources: dict[str, Source] = {}
    for column in fields:
        name = _own_name(column)
        if name in sources:
            raise MappingRefused(f"columns.{name}", f"both {sources[name].column} and {column} could be meant")
        if our_field(name):
            sources[name] = Source(f"columns.{name}", column=column)
    return replace(
        mapping,
        row={name: source for name, source in sources.items() if name in ROW},
        place={name: source for name, source in sources.items() if name in PLACE},
        groups=grouped(sources, []),
    )


def _own_name(column: str) -> str:
    """Our field that a column of our own form is for. Shapefiles cut names off after 10 characters."""
    folded = column.strip().casefold().replace(" ", "_")
    if len(folded) == SHAPEFILE_NAME_CHARACTERS:
        return next((name for name in (*ROW, *COMPONENT) if name.startswith(folded)), folded)
    stem, _, number = folded.rpartition("_")
    if number.isdigit():
        return f"{SHORT_NAMES.get(stem, stem)}_{number}"
    return SHORT_NAMES.get(folded, folded)


def _spelled_as_in_file(mapping: FieldMapping, fields: Sequence[str]) -> FieldMapping:
    return replace(
        mapping,
        row=_found(mapping.row, fields),
        groups={number: _found(group, fields) for number, group in mapping.groups.items()},
    )


def _found(sources: Sources, fields: Sequence[str]) -> Sources:
    return {
        name: source if source.column is None else replace(source, column=_column(source.key, source.column, fields))
        for name, source in sources.items()
    }


def _column(key: str, wanted: str, fields: Sequence[str]) -> str:
    """The file's column of this name; letters may differ in case where that leaves no doubt."""
    if wanted in fields:
        return wanted
    alike = [column for column in fields if column.casefold() == wanted.casefold()]
    if len(alike) == 1:
        return alike[0]
    close = get_close_matches(wanted, fields, n=1)
    hint = f" (did you mean {close[0]}?)" if close else ""
    raise MappingRefused(key, f"the file has no column {wanted}{hint}. It has: {names_within(fields)}.")


def _refuse_missing(mapping: FieldMapping, fields: Sequence[str]) -> None:
    for ours in ROW_FIELDS:
        if ours.needed and ours.name not in mapping.row:
            raise _missing(f"columns.{ours.name}", fields)
    for number, group in mapping.groups.items():
        suffix = f"_{number}" if number else ""
        for ours in COMPONENT_FIELDS:
            if ours.needed and ours.name not in group:
                raise _missing(f"columns.{ours.name}{suffix}", fields)
        if "cover_percent" not in group and not {"cover_class", "cover_scheme"} <= set(group):
            raise _missing(f"columns.cover_percent{suffix}", fields, " (or cover_class and cover_scheme)")


def _missing(key: str, fields: Sequence[str], otherwise: str = "") -> MappingRefused:
    return MappingRefused(
        key,
        f"is needed{otherwise}, and no column of the file gives it. Name the column in a mapping. "
        f"The file has: {names_within(fields) or 'no columns'}.",
    )
