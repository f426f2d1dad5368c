"""The page that matches a file's columns: a mapping as rows of controls, and what was sent as a mapping again.

The mapping document itself is what is kept between two looks at the page; nothing else is.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.http import QueryDict

from orders.desk.intake.words import DAY_WORDS, FACTS, UNIT_WORDS, Choices
from orders.sites.geofiles.looking import Found, FoundColumn
from orders.sites.geofiles.matching import Document, Words, is_known, renumbered, source_of, values_like
from orders.sites.geofiles.values import UNITS
from orders.sites.geofiles.vocabulary import COMPONENT_FIELDS, PLACE_FIELDS, ROW_FIELDS, OurField, base_and_group

FIXED, NUMBERED = "= the same for all rows", "= the number of the row"
MOST_PLANTS = 6
COLUMNS_LISTED = 40  # of more, the columns stand once on the page and are typed with help


@dataclass(frozen=True)
class ValueRow:
    """One of their words, how often it stands, and ours for it. `is_known`: the reader knows it without being told."""

    number: int
    theirs: str
    count: int
    ours: str
    is_known: bool

    @property
    def shown(self) -> str:
        return self.theirs or "(blank)"


@dataclass(frozen=True)
class FactRow:
    """One fact with its controls. `name` carries the plant's number where a row holds several."""

    name: str
    label: str
    help: str
    needed: bool
    source: str
    is_suggested: bool = False
    is_open: bool = False
    fixed: str = ""
    prefix: str = ""
    unit: str = ""
    units: Choices = field(default_factory=list)
    day_format: str = ""
    day_formats: Choices = field(default_factory=list)
    words: Choices = field(default_factory=list)
    values: Sequence[ValueRow] = ()
    unlisted: int = 0
    examples: Sequence[str] = ()
    blank: int = 0
    ours_for_blank: str = ""
    errors: Sequence[str] = ()
    may_be_numbered: bool = False
    only_columns: bool = False

    @property
    def is_fixed(self) -> bool:
        return self.source == FIXED

    @property
    def is_numbered(self) -> bool:
        return self.source == NUMBERED

    @property
    def column(self) -> str:
        return "" if self.source in (FIXED, NUMBERED) else self.source

    @property
    def base(self) -> str:
        return base_and_group(self.name)[0]

    @property
    def suggested_words(self) -> int:
        """How many have one that the reader would not know by itself, for a person to look at."""
        return sum(bool(value.ours) and not value.is_known for value in self.values)

    @property
    def open_words(self) -> int:
        """How many of their words have no word of ours yet."""
        return sum(not value.ours for value in self.values)


@dataclass(frozen=True)
class Section:
    """Facts that belong together; folded where none of them is needed or matched."""

    title: str
    rows: Sequence[FactRow]
    key: str
    is_open: bool = True


@dataclass(frozen=True)
class Matcher:
    """What the page knows of the file and of the program's words."""

    found: Found
    choices: Mapping[str, Choices]
    words: Mapping[str, Words]
    suggested: Mapping[str, Any] = field(default_factory=dict)  # the columns of the suggestion, while it is one

    def sections(self, document: Document, errors: Mapping[str, list[str]]) -> list[Section]:
        columns = document.get("columns", {})
        plants = plants_of(columns)
        place = [*self._rows(PLACE_FIELDS, columns, errors)] if self.found.is_table else []
        first = [row for row in self._rows(ROW_FIELDS, columns, errors) if row.needed or row.source]
        more = [row for row in self._rows(ROW_FIELDS, columns, errors) if not (row.needed or row.source)]
        sections = [Section("Location", place, "place")] if place else []
        sections.append(Section("The survey and its patch", first, "survey"))
        for number in range(1, plants + 1):
            suffix = f"_{number}" if plants > 1 else ""
            rows = list(self._rows(COMPONENT_FIELDS, columns, errors, suffix))
            title = f"Plant {number} of the row" if plants > 1 else "The plant"
            sections += _folded(title, rows, f"plant{suffix}")
        if more:
            sections.append(Section("More about the survey and its patch", more, "more", is_open=False))
        return sections

    def document(self, sent: QueryDict) -> Document:
        """What was sent as a mapping; words and formats are suggested anew for a column that was chosen just now."""
        plants = max(1, min(_whole(sent.get("plants")), MOST_PLANTS))
        columns = {}
        for _, name in _fields(plants, self.found.is_table):
            if given := self._given(name, sent):
                columns[name] = given
        columns = self._plants_changed(columns, plants, sent)
        layer = {"layer": self.found.layer} if self.found.layer else {}
        crs = {"crs": text} if (text := sent.get("crs", "").strip()) else {}
        tracks = {"close_tracks": True} if sent.get("close_tracks") else {}
        commas = {"decimal_comma": True} if sent.get("decimal_comma") else {}
        return {**layer, **crs, **tracks, **commas, "columns": columns}

    def _plants_changed(self, columns: Document, plants: int, sent: QueryDict) -> Document:
        """One plant more in each row, or one less."""
        if "plants_more" in sent and plants < MOST_PLANTS:
            numbered = {(f"{name}_1" if _is_plain_plant(name) else name): given for name, given in columns.items()}
            return {**numbered, f"species_{plants + 1}": ""}
        if "plants_fewer" in sent and plants > 1:
            kept = {name: given for name, given in columns.items() if base_and_group(name)[1] != str(plants)}
            return renumbered(kept) if plants == 2 else kept
        is_empty = plants > 1 and not any(base_and_group(name)[1] == str(plants) for name in columns)
        return {**columns, f"species_{plants}": ""} if is_empty else columns

    def _given(self, name: str, sent: QueryDict) -> Any:
        source = sent.get(f"from-{name}", "").strip()
        if not source:
            return None
        if source == NUMBERED:
            return {"numbered": sent.get(f"prefix-{name}", "")}
        if source == FIXED:
            return {**self._units(name, sent), "constant": sent.get(f"fixed-{name}", "").strip()}
        column = self.found.column(source)
        shown = sent.get(f"shown-{name}", "")
        more = self._sent(name, sent) if shown == source else self._fresh(name, column)
        given = {"column": source, **self._units(name, sent), **more}
        return source if set(given) == {"column"} else given

    def _units(self, name: str, sent: QueryDict) -> dict[str, str]:
        unit, usual = sent.get(f"unit-{name}", ""), next(iter(_units(name)), ("", ""))[0]
        return {"unit": unit} if unit and unit != usual else {}

    def _sent(self, name: str, sent: QueryDict) -> Document:
        """Format and words of a column whose controls stood on the page."""
        told = {"format": day_format} if (day_format := sent.get(f"format-{name}", "")) else {}
        words, values = self.words.get(base_and_group(name)[0]), {}
        for number in range(_whole(sent.get(f"count-{name}"))):
            theirs, ours = sent.get(f"theirs-{name}-{number}", ""), sent.get(f"value-{name}-{number}", "")
            if ours and not (words and _is_sure(theirs, words) == ours):
                values[theirs] = ours
        if blank := sent.get(f"blank-{name}", "").strip():
            values[""] = blank
        return {**told, **({"values": values} if values else {})}

    def _fresh(self, name: str, column: FoundColumn | None) -> Document:
        base = base_and_group(name)[0]
        if column is None:
            return {}
        if base == "observed_on" and column.day_formats and column.day_formats[0]:
            return {"format": column.day_formats[0]}
        values = values_like(column, self.words[base], {}) if base in self.words else {}
        return {"values": values} if values else {}

    def _rows(
        self, fields: Sequence[OurField], columns: Document, errors: Mapping[str, list[str]], suffix: str = ""
    ) -> Iterator[FactRow]:
        for ours in fields:
            name = f"{ours.name}{suffix}"
            yield self._row(ours, name, columns.get(name), tuple(errors.get(name, ())))

    def _row(self, ours: OurField, name: str, given: Any, errors: Sequence[str]) -> FactRow:
        source = source_of(given) if given else {}
        column = self.found.column(source.get("column"))
        fact, words = FACTS[ours.name], self.choices.get(ours.name, [])
        values = self._values(ours.name, column, source) if words and column is not None else []
        return FactRow(
            name=name,
            label=fact.label,
            help=fact.help,
            needed=ours.needed or ours.name == "cover_percent",
            source=_source_word(source),
            is_suggested=bool(given) and self.suggested.get(name) == given,
            fixed=_plain(source.get("constant")),
            prefix=source.get("numbered", ""),
            unit=source.get("unit", ""),
            units=_units(ours.name),
            day_format=source.get("format", ""),
            day_formats=_day_formats(column, source) if ours.kind == "date" and column is not None else [],
            words=words,
            values=values,
            unlisted=column.distinct if words and column is not None and not column.is_listed else 0,
            examples=[text for text, _ in column.values[:3]] if column is not None and not values else (),
            blank=column.blank if column is not None and _asks_for_blanks(ours) else 0,
            ours_for_blank=source.get("values", {}).get("", ""),
            errors=errors,
            may_be_numbered=ours.name == "patch_code",
            only_columns=ours.kind == "place",
        )

    def _values(self, base: str, column: FoundColumn, source: Document) -> list[ValueRow]:
        """Their words, those that the reader does not know by itself first."""
        if not column.is_listed:
            return []
        said = {theirs.casefold(): ours for theirs, ours in source.get("values", {}).items()}
        words = self.words[base]
        rows = []
        for text, count in column.values:
            sure = _is_sure(text, words)
            known = sure is not None and text.casefold() not in said
            rows.append((known, text, count, said.get(text.casefold(), sure) or ""))
        rows.sort(key=lambda row: row[0])
        return [ValueRow(number, text, count, ours, known) for number, (known, text, count, ours) in enumerate(rows)]


def plants_of(columns: Document) -> int:
    """How many plants a row holds, as its mapping has it."""
    return max([1, *(int(group) for name in columns if (group := base_and_group(name)[1]))])


def _is_sure(theirs: str, words: Words) -> str | None:
    """Our word where the reader knows theirs without being told; a word that is only suggested is no such."""
    return words.sure(theirs) if theirs and is_known(theirs, words) else None


def _folded(title: str, rows: list[FactRow], key: str) -> list[Section]:
    told = [row for row in rows if row.needed or row.source or row.errors]
    rest = [row for row in rows if not (row.needed or row.source or row.errors)]
    more = [Section(f"More about {title[0].lower()}{title[1:]}", rest, f"{key}-more", is_open=False)] if rest else []
    return [Section(title, told, key), *more]


def _fields(plants: int, is_table: bool) -> Iterator[tuple[OurField, str]]:
    for ours in (*(PLACE_FIELDS if is_table else ()), *ROW_FIELDS):
        yield ours, ours.name
    for number in range(1, plants + 1):
        suffix = f"_{number}" if plants > 1 else ""
        for ours in COMPONENT_FIELDS:
            yield ours, f"{ours.name}{suffix}"


def _is_plain_plant(name: str) -> bool:
    return any(name == ours.name for ours in COMPONENT_FIELDS)


def _source_word(source: Document) -> str:
    if "numbered" in source:
        return NUMBERED
    return FIXED if "constant" in source else str(source.get("column", ""))


def _units(name: str) -> Choices:
    ours = next((each for each in (*ROW_FIELDS, *COMPONENT_FIELDS) if each.name == base_and_group(name)[0]), None)
    return [(unit, UNIT_WORDS[unit]) for unit in UNITS.get(ours.kind, {})] if ours else []


def _day_formats(column: FoundColumn, source: Document) -> Choices:
    """Those that read every day of the column first; what the mapping says already is always among them."""
    known = [(day_format, DAY_WORDS[day_format]) for day_format in column.day_formats or DAY_WORDS]
    said = source.get("format", "")
    return known if any(said == day_format for day_format, _ in known) else [*known, (said, DAY_WORDS.get(said, said))]


def _asks_for_blanks(ours: OurField) -> bool:
    return (ours.needed and ours.name != "patch_code") or ours.name == "cover_percent"


def _plain(constant: Any) -> str:
    return "" if constant is None else str(constant)


def _whole(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 5 else 0
