"""Which columns of a table tell where its rows lie, and whether they tell it in degrees."""

import re
from collections.abc import Mapping

from orders.sites.geofiles.degrees import MOST_DEG, PAIRS, Axis, looks_like_place
from orders.sites.geofiles.looking import Found, FoundColumn
from orders.sites.geofiles.suggesting import suggest_mapping
from orders.sites.geofiles.vocabulary import PLACE

BEYOND_DEGREES = re.compile(r"(?<![\d.])\d{4,}")


def located(found: Found, taken: set[str]) -> dict[str, str]:
    """By well-known text, by two columns, or by one that holds both: by their names, else by what is in them."""
    named = _by_name(found, taken)
    if "wkt" in named or set(MOST_DEG) <= set(named):
        return {name: column for name, column in named.items() if name not in PAIRS}
    told = {}
    for column in reversed(found.columns):
        if column.name not in taken and (name := _by_itself(column)):
            told[name] = column.name
    for ways in (named, told):
        if pair := next((name for name in PAIRS if name in ways), None):
            return {pair: ways[pair]}
    return {**{name: column for name, column in told.items() if column not in named.values()}, **named}


def _by_name(found: Found, taken: set[str]) -> dict[str, str]:
    names = suggest_mapping([field for field in found.fields if field not in taken])
    columns = {name: str(given) for name, given in names.items() if name in PLACE}
    return {name: column for name, column in columns.items() if _fits(name, found.column(column))}


def _fits(name: str, column: FoundColumn | None) -> bool:
    if column is None or column.kind == "empty":
        return False
    return name == "wkt" or name in column.places or (name in MOST_DEG and column.kind == "number")


def _by_itself(column: FoundColumn) -> str:
    """The field that its cells tell whatever it is called, where they can be but one."""
    if not column.places or not all(looks_like_place(text) for text, _ in column.values):
        return ""
    singles = [name for name in column.places if name in MOST_DEG]
    return column.places[0] if len(singles) < len(MOST_DEG) else ""


def in_degrees(named: Mapping[str, FoundColumn | None]) -> bool:
    """Whether the location that these columns tell is in degrees, or told in a way that does not show it."""
    if not named:
        return False
    wkt = named.get("wkt")
    if wkt is not None and any(BEYOND_DEGREES.search(text) for text, _ in wkt.values):
        return False
    pairs = [column for name, column in named.items() if name in PAIRS]
    are_pairs = all(column is not None and column.places for column in pairs)
    return are_pairs and all(_within(named[axis], axis) for axis in MOST_DEG if axis in named)


def _within(column: FoundColumn | None, axis: Axis) -> bool:
    most = MOST_DEG[axis]
    if column is None or axis in column.places:
        return column is not None
    return column.least is not None and column.most is not None and -most <= column.least and column.most <= most
