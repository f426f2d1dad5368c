"""Which of a file's columns could be which of our fields, by the likeness of their names."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher

from orders.sites.geofiles.values import UNITS
from orders.sites.geofiles.vocabulary import COMPONENT_FIELDS, PLACE_FIELDS, ROW_FIELDS, OurField, our_field

# Below this likeness a suggestion would be wrong more often than right; chosen by trial on invented headings.
LEAST_LIKENESS = 0.8
NUMBERED = re.compile(r"(.*?)[ _-]?(\d+)", re.ASCII)
WORD = re.compile(r"[A-Za-z]+\d?", re.ASCII)
UNIT_WORDS: Mapping[str, str] = {
    "ac": "acres",
    "acre": "acres",
    "acres": "acres",
    "feet": "ft",
    "fraction": "fraction",
    "ft": "ft",
    "ft2": "ft2",
    "ha": "ha",
    "hectares": "ha",
    "hours": "hours",
    "hrs": "hours",
    "sqft": "ft2",
}


def suggest_mapping(fields: Iterable[str]) -> dict[str, str | dict[str, str]]:
    """Our field → their column (with the unit that its name tells), each column and each field at most once.

    A suggestion for a person to look at; in the form of `columns` of a mapping.
    """
    candidates = sorted((-likeness, ours, column) for column in fields for ours, likeness in _candidates(column))
    suggested: dict[str, str] = {}
    for _, ours, column in candidates:
        if ours not in suggested and column not in suggested.values():
            suggested[ours] = column
    return {ours: _with_unit(ours, column) for ours, column in suggested.items()}


def _candidates(column: str) -> list[tuple[str, float]]:
    """Our fields that the column could be; a number at its end makes it part of a group."""
    plain = _likely(column, (*ROW_FIELDS, *COMPONENT_FIELDS, *PLACE_FIELDS))
    numbered = NUMBERED.fullmatch(column)
    if numbered is None:
        return plain
    grouped = _likely(numbered[1], COMPONENT_FIELDS)
    return [(f"{name}_{int(numbered[2])}", likeness) for name, likeness in grouped] or plain


def number_of(column: str) -> str:
    """The number at the end of a column's name, or nothing."""
    numbered = NUMBERED.fullmatch(column)
    return str(int(numbered[2])) if numbered else ""


def _likely(column: str, ours: Iterable[OurField]) -> list[tuple[str, float]]:
    scored = ((field.name, _likeness(column, field)) for field in ours)
    return [(name, likeness) for name, likeness in scored if likeness >= LEAST_LIKENESS]


def _likeness(column: str, field: OurField) -> float:
    """1 for our own name, just less for the same letters under another name, less again for like letters."""
    spellings = {_letters(column), _letters(_without_unit(column))}
    own = max(_ratio(spelling, field.name) for spelling in spellings)
    others = (_ratio(spelling, name) for spelling in spellings for name in field.also)
    return max(own, 0.99 * max(others, default=0.0))


def _ratio(spelling: str, name: str) -> float:
    return SequenceMatcher(None, spelling, _letters(name)).ratio()


def _letters(name: str) -> str:
    return "".join(character for character in name.casefold() if character.isalnum())


def _words(column: str) -> list[str]:
    return WORD.findall(column.casefold())


def _without_unit(column: str) -> str:
    return " ".join(word for word in _words(column) if word not in UNIT_WORDS) or column


def _with_unit(ours: str, column: str) -> str | dict[str, str]:
    field = our_field(ours)
    allowed = UNITS.get(field.kind, {}) if field else {}
    told = [UNIT_WORDS[word] for word in _words(column) if UNIT_WORDS.get(word) in allowed]
    return {"column": column, "unit": told[0]} if told else column
