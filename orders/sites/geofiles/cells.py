"""The cells of one row as typed values, and everything found wrong with them."""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from typing import TypeVar

from orders.sites.geofiles.days import Days
from orders.sites.geofiles.mapping import Source, Sources
from orders.sites.geofiles.records import Answer, RawRow, RowError, RowWarning
from orders.sites.geofiles.values import (
    CONTROL_CHARACTER,
    UNITS,
    parse_answer,
    parse_count,
    parse_number,
    parse_percent,
    text_of,
    with_point,
)
from orders.sites.geofiles.vocabulary import our_field

Value = TypeVar("Value")


@dataclass
class Findings:
    """What was found wrong in a file so far."""

    errors: list[RowError] = field(default_factory=list)
    warnings: list[RowWarning] = field(default_factory=list)


@dataclass
class RowNotes:
    """What was found wrong in one row, written to the file's findings. `bad` once there was an error."""

    row: RawRow
    findings: Findings
    bad: bool = False

    def error(self, name: str, code: str, reason: str) -> None:
        self.bad = True
        self.findings.errors.append(RowError(self.row.number, name, code, reason, self.row.line))

    def warn(self, name: str, code: str, reason: str) -> None:
        self.findings.warnings.append(RowWarning(self.row.number, name, code, reason, self.row.line))


@dataclass
class Cells:
    """Typed access to a row through the sources of a mapping. Blank is None; what cannot be read is noted, and None.

    `suffix` is the number of a component's group as it stands behind the field's name in messages; `shared` are columns
    that other groups read too.
    """

    sources: Sources
    notes: RowNotes
    suffix: str = ""
    decimal_comma: bool = False
    shared: Collection[str] = frozenset()

    def is_blank(self) -> bool:
        """No column of its own holds anything. Beside those, constants and shared columns do not count."""
        from_columns = [source for source in self.sources.values() if source.column not in {None, *self.shared}]
        return bool(from_columns) and not any(self._raw(source) for source in from_columns)

    def is_given(self, name: str) -> bool:
        """The row says something of the field, readable or not."""
        return bool(self._text(name))

    def text(self, name: str, most: int, *, needed: bool = False) -> str:
        text = self._text(name)
        if needed and not text:
            self.error(name, "missing", "is needed, and is blank")
        elif len(text) > most:
            self.error(name, "too_long", f"has {len(text)} characters; at most {most} are kept")
        elif CONTROL_CHARACTER.search(text):
            self.error(name, "text_unreadable", "holds characters that are not text")
        return text

    def day(self, name: str, today: date, days: Days, zone: str) -> date | None:
        """A day at a site of this time zone; none is heeded where it is empty."""
        source = self.sources.get(name)
        day_format, row = source.format if source else None, self.notes.row.number
        found = self._read(name, "date_unreadable", lambda text: days.read(row, text, day_format, zone))
        if not self.is_given(name):
            self.error(name, "missing", "is needed, and is blank")
        if found is not None and found > today:
            self.error(name, "date_in_future", f"{found.isoformat()} is in the future (today is {today.isoformat()})")
        return found

    def number(self, name: str, low: float, high: float, code: str = "out_of_range") -> float | None:
        """A number in our unit, from low to high."""
        kind, comma = self._kind(name), self.decimal_comma
        parse = parse_percent if kind == "percent" else parse_number
        value = self._read(name, "number_unreadable", lambda text: parse(with_point(text) if comma else text))
        if value is None:
            return None
        unit = self.sources[name].unit
        value = UNITS[kind][unit](value) if unit else value
        if not low <= value <= high:
            self.error(name, code, f"{value:g} is not from {low:g} to {high:g}")
            return None
        return value

    def count(self, name: str) -> int | None:
        return self._read(name, "number_unreadable", parse_count)

    def answer(self, name: str) -> Answer | None:
        return self._read(name, "answer_unreadable", parse_answer)

    def code(self, name: str, known: Mapping[str, str], code: str, *, needed: bool = False) -> str | None:
        """One of the program's own codes. `known` leads from each spelling in `folded` form to the code."""
        text = self.text(name, most=200, needed=needed)
        if not text:
            return None
        if folded(text) not in known:
            self.error(name, code, f"“{text}” is not known here{close_to(text, known)}")
        return known.get(folded(text))

    def error(self, name: str, code: str, reason: str) -> None:
        """Note an error of a field, and say which column it came from where that has another name."""
        source = self.sources.get(name)
        ours = f"{name}{self.suffix}"
        told = f" (column {source.column})" if source and source.column not in (None, ours) else ""
        self.notes.error(ours, code, f"{reason}{told}.")

    def _read(self, name: str, code: str, parse: Callable[[str], Value]) -> Value | None:
        text = self._text(name)
        if not text:
            return None
        try:
            return parse(text)
        except ValueError as unreadable:
            self.error(name, code, str(unreadable))
            return None

    def _text(self, name: str) -> str:
        """The field's text, in our words where the mapping translates theirs."""
        source = self.sources.get(name)
        if source is None:
            return ""
        text = self._raw(source)
        return source.values.get(text.casefold(), text)

    def _raw(self, source: Source) -> str:
        if source.numbered is not None:
            return f"{source.numbered}{self.notes.row.number}"
        if source.column is None:
            return text_of(source.constant)
        return text_of(self.notes.row.attributes.get(source.column))

    def _kind(self, name: str) -> str:
        ours = our_field(name)
        return ours.kind if ours else ""


def folded(text: str) -> str:
    """Spelling without case, and with one kind of gap, so that Ground_Cover is ground cover."""
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())


def spellings(codes: Iterable[str]) -> dict[str, str]:
    """Codes by their folded spelling."""
    return {folded(code): code for code in codes}


def close_to(text: str, known: Mapping[str, str]) -> str:
    """A hint at the codes that come near."""
    near = list(dict.fromkeys(known[spelling] for spelling in get_close_matches(folded(text), known, n=3)))
    return f"; did you mean {' or '.join(near)}?" if near else ""
