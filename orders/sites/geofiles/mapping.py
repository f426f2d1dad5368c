"""How somebody else's columns become our fields: a mapping file in JSON, or none where the file uses our own names.

    {
      "name": "County survey 2026",
      "crs": "EPSG:2246",              only for files that do not name their coordinate system
      "layer": "weeds",                for files of several layers
      "close_tracks": true,            walked GPX tracks become outlines
      "decimal_comma": true,           numbers are written as 35,5
      "columns": {
        "site_code": {"constant": "MILL"},
        "patch_code": "POLY_ID",
        "observed_on": {"column": "DATE_", "format": "%m/%d/%Y"},
        "gross_area_m2": {"column": "ACRES", "unit": "acres"},
        "wet_ground": {"column": "WET", "values": {"seep": "yes", "dry": "no"}},
        "species_1": "SPP1", "growth_form_1": "FORM1", "cover_percent_1": "COV1",
        "species_2": "SPP2", "growth_form_2": "FORM2", "cover_percent_2": "COV2"
      },
      "component_groups": [            the same as numbered fields, as a list
        {"species": "SPP1", "growth_form": "FORM1", "cover_percent": {"column": "COV1", "unit": "fraction"}}
      ]
    }

A field takes a column's name, or an object with `column` or `constant` (a patch code also with `numbered`, the letters
before the row's number, for files that name nothing), and beside them `unit` (numbers), `format` (dates, in the terms
of strptime, or `milliseconds` since 1970) and `values` (their word: ours). A component's field without a number holds
for every group that does not give its own. Tables name their location by `wkt`, by `longitude` and `latitude`, or by a
column that holds both: `latitude_longitude` or `longitude_latitude`.
"""

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from difflib import get_close_matches
from typing import Any

from orders.sites.geofiles.degrees import PAIRS
from orders.sites.geofiles.loading import ReadRequest
from orders.sites.geofiles.records import Cell, Limits, MappingRefused
from orders.sites.geofiles.values import MILLISECONDS, UNITS
from orders.sites.geofiles.vocabulary import COMPONENT, PLACE, ROW, base_and_group, our_field

KEYS = ("name", "crs", "layer", "close_tracks", "decimal_comma", "columns", "component_groups")
SOURCE_KEYS = ("column", "constant", "numbered", "unit", "format", "values")
NUMBERED_FIELD = "patch_code"


@dataclass(frozen=True, slots=True)
class Source:
    """Where one field's value comes from. `key` is its place in the mapping, for messages."""

    key: str
    column: str | None = None
    constant: Cell = None
    numbered: str | None = None
    unit: str | None = None
    format: str | None = None
    values: Mapping[str, str] = field(default_factory=dict)


Sources = Mapping[str, Source]


@dataclass(frozen=True, slots=True)
class FieldMapping:
    """A mapping that has been read. `groups` holds the sources of each component by number or place in the list."""

    name: str = ""
    crs: str | None = None
    layer: str | None = None
    close_tracks: bool = False
    decimal_comma: bool = False
    row: Sources = field(default_factory=dict)
    place: Sources = field(default_factory=dict)
    groups: Mapping[str, Sources] = field(default_factory=dict)
    is_identity: bool = False

    def request(self, filename: str, limits: Limits, layer: str | None) -> ReadRequest:
        """What the reader of the file needs to know of the mapping."""
        columns = {name: source.column for name, source in self.place.items()}
        return ReadRequest(
            filename=filename,
            limits=limits,
            layer=layer or self.layer,
            crs=self.crs,
            close_tracks=self.close_tracks,
            decimal_comma=self.decimal_comma,
            wkt_column=columns.get("wkt"),
            longitude_column=columns.get("longitude"),
            latitude_column=columns.get("latitude"),
            pair_field=next((name for name in PAIRS if name in columns), None),
            pair_column=next((columns[name] for name in PAIRS if name in columns), None),
        )


IDENTITY = FieldMapping(name="our own names", is_identity=True)


def mapping_from_json(text: str) -> FieldMapping:
    """The mapping of a JSON text; `MappingRefused` names the key that is wrong."""
    try:
        return mapping_from_document(json.loads(text))
    except json.JSONDecodeError as broken:
        raise MappingRefused("mapping", f"line {broken.lineno} is not JSON: {broken.msg}") from broken


def mapping_from_document(document: Any) -> FieldMapping:
    """The mapping of a parsed JSON document, in the form that this module describes."""
    content = _object("mapping", document, KEYS)
    columns = _object("columns", content.get("columns", {}), None)
    sources = {name: _source(f"columns.{name}", name, given) for name, given in columns.items()}
    return FieldMapping(
        name=_text("name", content) or "",
        crs=_text("crs", content),
        layer=_text("layer", content),
        close_tracks=_flag("close_tracks", content),
        decimal_comma=_flag("decimal_comma", content),
        row={name: source for name, source in sources.items() if name in ROW},
        place=_place({name: source for name, source in sources.items() if name in PLACE}),
        groups=grouped(sources, content.get("component_groups", [])),
        is_identity=not columns and not content.get("component_groups"),
    )


def grouped(sources: Sources, listed: Any) -> Mapping[str, Sources]:
    """Sources by component. Fields without a number fill in what a group does not give itself."""
    if not isinstance(listed, list):
        raise MappingRefused("component_groups", "must be a list of objects")
    groups = _numbered(sources)
    defaults = groups.pop("", {})
    if groups and listed:
        raise MappingRefused("component_groups", "use either numbered fields or component_groups, not both")
    for number, given in enumerate(listed, start=1):
        groups[str(number)] = _listed_group(number, given)
    return {number: {**defaults, **group} for number, group in groups.items()} or {"": defaults}


def shared_columns(mapping: FieldMapping) -> frozenset[str]:
    """Columns that several components read, such as a height beside two species: they tell of none that it is there."""
    read = [{source.column for source in group.values() if source.column} for group in mapping.groups.values()]
    counted = Counter(column for columns in read for column in columns)
    return frozenset(column for column, groups in counted.items() if groups > 1)


def _place(sources: Sources) -> Sources:
    pairs = [name for name in PAIRS if name in sources]
    if pairs and len(sources) > 1:
        raise MappingRefused(f"columns.{pairs[0]}", "holds the whole location: name no other column of it beside")
    if not pairs and "wkt" not in sources and len(sources) == 1:
        raise MappingRefused("columns", "longitude and latitude belong together: name both")
    for source in sources.values():
        if source.column is None:
            raise MappingRefused(source.key, "must name a column")
    return sources


def _numbered(sources: Sources) -> dict[str, dict[str, Source]]:
    groups: dict[str, dict[str, Source]] = {}
    for name, source in sources.items():
        base, number = base_and_group(name)
        if base in COMPONENT:
            groups.setdefault(number, {})[base] = source
    return groups


def _listed_group(number: int, given: Any) -> dict[str, Source]:
    key = f"component_groups.{number}"
    group = _object(key, given, tuple(COMPONENT))
    return {name: _source(f"{key}.{name}", name, source) for name, source in group.items()}


def _source(key: str, name: str, given: Any) -> Source:
    """One field's source, checked as far as it can be without the file."""
    ours = our_field(name)
    if ours is None:
        raise MappingRefused(key, f"there is no field {name}{_did_you_mean(name, [*ROW, *COMPONENT, *PLACE])}")
    if isinstance(given, str):
        return Source(key, column=given)
    content = _object(key, given, SOURCE_KEYS)
    if sum(kind in content for kind in ("column", "constant", "numbered")) != 1:
        raise MappingRefused(key, "give either a column or a constant")
    if "numbered" in content and name != NUMBERED_FIELD:
        raise MappingRefused(key, f"only {NUMBERED_FIELD} can be numbered by row")
    return Source(
        key,
        column=_text("column", content, key),
        constant=_constant(key, content.get("constant")),
        numbered=_prefix(key, content),
        unit=_unit(key, ours.kind, _text("unit", content, key)),
        format=_day_format(key, ours.kind, _text("format", content, key)),
        values=_values(key, content.get("values", {})),
    )


def _constant(key: str, given: Any) -> Cell:
    if given is not None and not isinstance(given, str | int | float | bool):
        raise MappingRefused(f"{key}.constant", "must be text, a number, true or false")
    return given


def _prefix(key: str, content: Mapping[str, Any]) -> str | None:
    if "numbered" not in content:
        return None
    if not isinstance(content["numbered"], str):
        raise MappingRefused(f"{key}.numbered", "must be text")
    return content["numbered"]


def _unit(key: str, kind: str, unit: str | None) -> str | None:
    known = UNITS.get(kind, {})
    if unit is not None and unit not in known:
        these = f"known here: {', '.join(known)}" if known else "this field has no unit"
        raise MappingRefused(f"{key}.unit", f"{unit} is not a unit for this field; {these}")
    return unit


YEARS = ("%Y", "%y", "%G", "%c", "%x")
INCOMPLETE = "{} does not give year, month and day; such as %m/%d/%Y"


def _day_format(key: str, kind: str, day_format: str | None) -> str | None:
    """The format, if it can tell every day from every other: a day written in it must be read back the same."""
    if day_format is None:
        return None
    if kind != "date":
        raise MappingRefused(f"{key}.format", "only a date has a format")
    if day_format == MILLISECONDS:
        return day_format
    if not any(directive in day_format for directive in YEARS):  # Python 3.13 warns of reading a day without a year
        raise MappingRefused(f"{key}.format", INCOMPLETE.format(day_format))
    zone = UTC if "%z" in day_format else None
    probe = datetime(2031, 12, 30, tzinfo=zone)
    try:
        complete = datetime.strptime(probe.strftime(day_format), day_format) == probe  # noqa: DTZ007 (as above)
    except ValueError:
        complete = False
    if not complete:
        raise MappingRefused(f"{key}.format", INCOMPLETE.format(day_format))
    return day_format


def _values(key: str, given: Any) -> Mapping[str, str]:
    values = _object(f"{key}.values", given, None)
    for theirs, ours in values.items():
        if not isinstance(ours, str):
            raise MappingRefused(f"{key}.values.{theirs}", "must be text")
    return {theirs.strip().casefold(): ours for theirs, ours in values.items()}


def _object(key: str, given: Any, allowed: Sequence[str] | None) -> dict[str, Any]:
    if not isinstance(given, dict):
        raise MappingRefused(key, "must be an object")
    for name in given:
        if allowed is not None and name not in allowed:
            raise MappingRefused(f"{key}.{name}", f"is not known here{_did_you_mean(name, allowed)}")
    return given


def _text(name: str, content: Mapping[str, Any], within: str = "") -> str | None:
    given = content.get(name)
    if given is not None and not isinstance(given, str):
        raise MappingRefused(f"{within}.{name}".lstrip("."), "must be text")
    return given or None


def _flag(name: str, content: Mapping[str, Any]) -> bool:
    given = content.get(name, False)
    if not isinstance(given, bool):
        raise MappingRefused(name, "must be true or false")
    return given


def _did_you_mean(name: str, known: Sequence[str]) -> str:
    close = get_close_matches(name, known, n=1)
    return f"; did you mean {close[0]}?" if close else ""
