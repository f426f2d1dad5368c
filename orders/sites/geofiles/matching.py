"""A first mapping for a file of unknown origin: by the names of its columns, by what is in them, and word by word.

Everything here is a suggestion for a person to look at; it is a mapping in the form that `mapping.py` describes.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

import shapely

from orders.sites.geofiles.cells import folded
from orders.sites.geofiles.drafts import ALSO_CONDITIONS
from orders.sites.geofiles.locating import in_degrees, located
from orders.sites.geofiles.looking import Found, FoundColumn
from orders.sites.geofiles.mapping import IDENTITY, FieldMapping, Source, mapping_from_document
from orders.sites.geofiles.records import CONDITIONS, GROUND_KINDS, KnownCodes, MappingRefused
from orders.sites.geofiles.resolving import resolve
from orders.sites.geofiles.suggesting import number_of, suggest_mapping
from orders.sites.geofiles.values import ANSWERS, MILLISECONDS, reads_as_percent
from orders.sites.geofiles.vocabulary import COMPONENT, PLACE, ROW, base_and_group, our_field

Document = dict[str, Any]
NUMERIC = frozenset({"area", "angle", "length", "minutes", "percent", "count"})
# A word of theirs is taken for one of ours from this likeness on, and a column for one of words where so many of its
# words are; chosen by trial on invented files.
LIKE_ENOUGH = 0.75
SHARE_ENOUGH = 0.6
WORD_LETTERS = 3
WGS84_NAME = "EPSG:4326"
NUMBERED = "NEW-"
NAMING = re.compile(r"(?i)(id|no|nr|num|number|code|key|name)$")
ID = re.compile(r"(?i:^|[^a-z])id$|ID$")
MORE_ANSWERS = {"t": "yes", "f": "no", "u": "unknown", "unk": "unknown", "present": "yes", "absent": "no"}
MORE_FORMS = {
    "ground cover": ("mat", "carpet", "groundcover", "creeping", "ground"),
    "climbing": ("vine", "climber", "liana", "on trees"),
    "sprawling": ("trailing", "trail", "scrambling"),
    "shrub": ("bush", "shrubs"),
    "herb": ("forb", "herbaceous", "graminoid", "grass"),
}


@dataclass(frozen=True, slots=True)
class Words:
    """What may stand in a field of words: ours by each folded spelling of them."""

    spellings: Mapping[str, str]

    def sure(self, text: str) -> str | None:
        """Our word, where theirs is one of its spellings: the reader knows it without being told."""
        return self.spellings.get(folded(text))

    def like(self, text: str) -> str | None:
        """Our word that comes nearest, if one comes near."""
        sought = folded(text)
        scored = ((_likeness(sought, spelling), ours) for spelling, ours in self.spellings.items())
        best, ours = max(scored, default=(0.0, ""))
        return ours if best >= LIKE_ENOUGH else None


def _likeness(sought: str, spelling: str) -> float:
    """From 0 to 1; a word of ours that stands whole within theirs, such as a site's code within its name, is close."""
    within = len(spelling) >= WORD_LETTERS and set(spelling.split()) <= set(sought.split())
    return 0.9 if within else SequenceMatcher(None, sought, spelling).ratio()


def words_of(known: KnownCodes) -> dict[str, Words]:
    """The fields that take words, each with its words."""
    answers = Words({**MORE_ANSWERS, **ANSWERS})
    fields = {field.name: answers for field in (*ROW.values(), *COMPONENT.values()) if field.kind == "answer"}
    named = {folded(name): code for code, names in known.species.items() for name in (code, *names)}
    classes = {folded(code): code for each in known.cover_schemes.values() for code in each}
    forms = {folded(word): form for form in known.growth_forms for word in (form, *MORE_FORMS.get(folded(form), ()))}
    return {
        **fields,
        "site_code": Words({folded(code): code for code in known.sites}),
        "species": Words(named),
        "growth_form": Words(forms),
        "control_state": Words({folded(code): code for code in known.control_states}),
        "ground": Words({kind: kind for kind in GROUND_KINDS}),
        "cover_scheme": Words({folded(code): code for code in known.cover_schemes}),
        "cover_class": Words(classes),
        "reproductive_condition": Words({**ALSO_CONDITIONS, **{word: word for word in CONDITIONS}}),
    }


def suggest_document(found: Found, known: KnownCodes) -> Document:
    """A mapping for the file, as complete as can be told from it."""
    words = words_of(known)
    try:
        document = document_of(resolve(IDENTITY, found.fields))
    except MappingRefused:
        document = {"columns": _by_names_and_values(found, words)}
    columns = _fitted(document["columns"], found, words)
    if "site_code" not in columns and (site := _site_round(found, known)):
        columns["site_code"] = {"constant": site}
    placed = {"crs": WGS84_NAME} if found.is_table and in_degrees(named_columns(columns, found)) else {}
    tracks = {"close_tracks": True} if found.is_lines else {}
    commas = {"decimal_comma": True} if found.has_decimal_commas else {}
    layer = {"layer": found.layer} if found.layer else {}
    return {**layer, **placed, **tracks, **commas, "columns": renumbered(columns)}


def carried_document(mapping: Document, found: Found, known: KnownCodes) -> Document | None:
    """The matches of another layer of the file for this one, or None where it has not all of their columns."""
    used = {column.casefold() for column in columns_used(mapping.get("columns", {}))}
    if not used <= {name.casefold() for name in found.fields}:
        return None
    fitted = document_of(resolve(mapping_from_document(mapping), found.fields))
    system = {"crs": mapping["crs"]} if mapping.get("crs") and not found.crs else {}
    columns = _fitted(fitted["columns"], found, words_of(known))
    return {**suggest_document(found, known), **system, "columns": columns}


def document_of(mapping: FieldMapping) -> Document:
    """A mapping that was read, as the document that it could have been read from: fields of plants numbered."""
    columns = {name: _told(source) for name, source in {**mapping.row, **mapping.place}.items()}
    for number, group in mapping.groups.items():
        suffix = f"_{number}" if number else ""
        columns |= {f"{name}{suffix}": _told(source) for name, source in group.items()}
    names = ("name", "crs", "layer", "close_tracks", "decimal_comma")
    told = {name: getattr(mapping, name) for name in names}
    return {**{name: value for name, value in told.items() if value}, "columns": renumbered(columns)}


def renumbered(columns: Mapping[str, Any]) -> Document:
    """Plants counted from 1 without gaps, and without a number where a row holds one; what has no number beside others
    that have one holds for each of them."""
    numbers = sorted({int(group) for name in columns if (group := base_and_group(name)[1])})
    kept = {name: given for name, given in columns.items() if base_and_group(name)[0] not in COMPONENT}
    shared = {name: given for name, given in columns.items() if name in COMPONENT}
    if not numbers:
        return {**kept, **shared}
    for place, number in enumerate(numbers, start=1):
        own = {
            base_and_group(name)[0]: given for name, given in columns.items() if base_and_group(name)[1] == str(number)
        }
        suffix = f"_{place}" if len(numbers) > 1 else ""
        kept |= {f"{name}{suffix}": given for name, given in {**shared, **own}.items()}
    return kept


def source_of(given: Any) -> Document:
    """One field of a document in its long form."""
    return {"column": given} if isinstance(given, str) else dict(given)


def columns_used(columns: Mapping[str, Any]) -> set[str]:
    return {str(column) for given in columns.values() if (column := source_of(given).get("column"))}


@dataclass(frozen=True, slots=True)
class Unused:
    """Columns of a file that a mapping leaves aside: those that hold something, and those that are blank throughout."""

    filled: tuple[str, ...]
    empty: tuple[str, ...]


def columns_unused(found: Found, columns: Mapping[str, Any]) -> Unused:
    """In the file's order. A column is matched by another spelling of its name where the file has no such column."""
    used = columns_used(columns)
    respelled = {name.casefold() for name in used.difference(found.fields)}
    left = [each for each in found.columns if each.name not in used and each.name.casefold() not in respelled]
    return Unused(
        filled=tuple(each.name for each in left if each.kind != "empty"),
        empty=tuple(each.name for each in left if each.kind == "empty"),
    )


def _told(source: Source) -> Any:
    if source.numbered is not None:
        return {"numbered": source.numbered}
    first = {"constant": source.constant} if source.column is None else {"column": source.column}
    more = {"unit": source.unit, "format": source.format, "values": dict(source.values)}
    told = {**first, **{name: value for name, value in more.items() if value}}
    return source.column if set(told) == {"column"} else told


def _by_names_and_values(found: Found, words: Mapping[str, Words]) -> Document:
    columns: Document = {
        name: given
        for name, given in suggest_mapping(found.fields).items()
        if name not in PLACE and _could_be(name, given, found, words)
    }
    columns |= located(found, columns_used(columns)) if found.is_table else {}
    for name in ("species", "site_code", "growth_form", "control_state"):
        for wanted in _wanted(columns, name):
            if best := _best(wanted, found, words[name], columns_used(columns)):
                columns[wanted] = best
    if "observed_on" not in columns:
        days = [column for column in found.columns if column.day_formats and column.kind == "day"]
        days.sort(key=lambda column: MILLISECONDS in column.day_formats)  # those are times of the database more often
        columns |= {"observed_on": days[0].name} if days else {}
    if "patch_code" not in columns:
        columns["patch_code"] = _naming(found, columns_used(columns)) or {"numbered": NUMBERED}
    return columns


def _naming(found: Found, taken: set[str]) -> str | None:
    """A column that could name patches: filled in every row, by a name such as a number, and another in each; or an id
    that several rows share, as where each plant of a patch has its row."""
    whole = [column for column in found.columns if column.name not in taken and not column.blank]
    likely = [column for column in whole if column.distinct == found.rows and NAMING.search(column.name)]
    repeated = [column for column in whole if column.distinct > 1 and ID.search(column.name)]
    return next((column.name for column in (*likely, *repeated)), None)


def _wanted(columns: Mapping[str, Any], name: str) -> list[str]:
    """The fields of this name that have no column yet: one for each plant where other fields tell plants apart."""
    numbers = sorted({group for given in columns if (group := base_and_group(given)[1])})
    if name in columns:
        return []
    if name not in COMPONENT or not numbers:
        return [name]
    return [numbered for number in numbers if (numbered := f"{name}_{number}") not in columns]


def _could_be(name: str, given: Any, found: Found, words: Mapping[str, Words]) -> bool:
    """Whether what is in the column can be what its name promises."""
    column, field = found.column(source_of(given)["column"]), our_field(name)
    if column is None or field is None or column.kind == "empty":
        return False
    if field.kind == "date":
        return bool(column.day_formats)
    if field.kind in NUMERIC:
        return column.kind == "number" or _is_percent(field.kind, column)
    base = base_and_group(name)[0]
    return base not in words or _share(column, words[base]) >= SHARE_ENOUGH or base in {"species", "growth_form"}


def _is_percent(kind: str, column: FoundColumn) -> bool:
    return kind == "percent" and all(reads_as_percent(text) for text, _ in column.values)


def _best(name: str, found: Found, words: Words, taken: set[str]) -> str | None:
    """The column of which most words are like ours; for one of several plants, none of another plant's number."""
    number = base_and_group(name)[1]
    free = [
        column
        for column in found.columns
        if column.name not in taken and column.kind == "text" and (not number or number_of(column.name) in {"", number})
    ]
    scored = [(_share(column, words), column.name) for column in free if column.is_listed]
    best = max(scored, default=(0.0, ""), key=lambda each: each[0])
    return best[1] if best[0] >= SHARE_ENOUGH else None


def _share(column: FoundColumn, words: Words) -> float:
    shown = [text for text, _ in column.values]
    return sum(bool(words.sure(text) or words.like(text)) for text in shown) / len(shown) if shown else 0.0


def _fitted(columns: Mapping[str, Any], found: Found, words: Mapping[str, Words]) -> Document:
    """Each column with the format of its days, and its words with ours that come nearest."""
    fitted: Document = {}
    for name, given in columns.items():
        source, base = source_of(given), base_and_group(name)[0]
        column, field = found.column(source.get("column")), our_field(name)
        if column is not None and field is not None:
            if field.kind == "date" and "format" not in source and column.day_formats and column.day_formats[0]:
                source["format"] = column.day_formats[0]
            if base in words and (values := values_like(column, words[base], source.get("values", {}))):
                source["values"] = values
        fitted[name] = source["column"] if set(source) == {"column"} else source
    return fitted


def values_like(column: FoundColumn, words: Words, said: Mapping[str, str]) -> dict[str, str]:
    """Their words that the reader would not know by itself, each with ours that comes nearest."""
    if not column.is_listed:
        return dict(said)
    heard = {theirs.casefold() for theirs in said}
    unknown = [text for text, _ in column.values if text.casefold() not in heard and not is_known(text, words)]
    near = {text: ours for text in unknown if (ours := words.sure(text) or words.like(text))}
    return {**said, **near}


def is_known(text: str, words: Words) -> bool:
    """What the reader knows by itself; words that are only suggested, such as a bush for a shrub, it does not."""
    ours = words.sure(text)
    return ours is not None and not (folded(text) in MORE_ANSWERS or _is_form_word(text, ours))


def _is_form_word(text: str, ours: str) -> bool:
    return folded(text) in MORE_FORMS.get(folded(ours), ())


def _site_round(found: Found, known: KnownCodes) -> str | None:
    """The one site that holds the middle of what the file shows."""
    if found.box is None:
        return None
    middle = shapely.box(*found.box).centroid
    holding = [
        code for code, site in known.sites.items() if site.boundary is not None and site.boundary.intersects(middle)
    ]
    return holding[0] if len(holding) == 1 else None


def named_columns(columns: Mapping[str, Any], found: Found) -> dict[str, FoundColumn | None]:
    """The columns of the file that tell the location, by the field that each is."""
    return {name: found.column(source_of(given).get("column")) for name, given in columns.items() if name in PLACE}


def missing(columns: Mapping[str, Any]) -> Sequence[str]:
    """Fields that a row needs and that nothing is said of, numbered where plants are."""
    needed = [field.name for field in ROW.values() if field.needed and not columns.get(field.name)]
    groups = sorted({base_and_group(name)[1] for name in columns if base_and_group(name)[0] in COMPONENT}) or [""]
    for group in groups:
        suffix = f"_{group}" if group else ""
        names = [f"{field.name}{suffix}" for field in COMPONENT.values() if field.needed]
        needed += [name for name in names if not columns.get(name)]
        by_class = all(columns.get(f"{name}{suffix}") for name in ("cover_class", "cover_scheme"))
        if not columns.get(f"cover_percent{suffix}") and not by_class:
            needed.append(f"cover_percent{suffix}")
    return needed


__all__ = [
    "Document",
    "Words",
    "carried_document",
    "columns_unused",
    "columns_used",
    "document_of",
    "is_known",
    "missing",
    "renumbered",
    "source_of",
    "suggest_document",
    "values_like",
    "words_of",
]
