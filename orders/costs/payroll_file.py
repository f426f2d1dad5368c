"""Reading what payroll cost out of a file: strictly, every fault with its row and field, or nothing at all.

Taken: text in UTF-8, with or without a byte order mark; commas, semicolons or tabs between the cells; lines that end in
LF or CRLF; amounts such as 1234.5, "1,234.50", $1,234.50 or -12.00. Row 1 is the headings, of which HEADINGS says the
ones that are known; other columns are not looked at.
"""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from orders.common.errors import FieldError, Invalid
from orders.costs.services.labor import is_paid
from orders.crews.models import Person

# what a column means -> how it may be headed, in any case; spaces, hyphens and underscores are the same
HEADINGS = {
    "person_id": ("person id", "id"),
    "person": ("person", "name", "employee", "employee name"),
    "gross": ("gross", "gross pay", "gross wages"),
    "employer": ("employer", "employer cost", "employer taxes and benefits", "taxes and benefits"),
}
NEEDED = ("gross", "employer")
MEANS = {heading: field for field, headings in HEADINGS.items() for heading in headings}
DELIMITERS = ",;\t"
MOST_ROWS = 5_000
AMOUNT = re.compile(r"(-?)\$?([0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.([0-9]{1,2}))?")
MOST_CENTS = 10**10
NOT_READ = "The payroll file cannot be taken; nothing was stored."


@dataclass(frozen=True)
class PayrollRow:
    number: int
    person: Person
    gross_cents: int
    employer_cents: int

    @property
    def cents(self) -> int:
        return self.gross_cents + self.employer_cents


class _Faults:
    def __init__(self) -> None:
        self.errors: list[FieldError] = []

    def add(self, field: str, message: str, row: int | None = None, code: str = "invalid") -> None:
        self.errors.append(FieldError(field, message if row is None else f"Row {row}, {field}: {message}", row, code))

    def refuse(self) -> None:
        if self.errors:
            raise Invalid(NOT_READ, self.errors)


def payroll_rows(data: bytes) -> list[PayrollRow]:
    faults = _Faults()
    table = _table(data, faults)
    faults.refuse()
    columns = _columns(table[0], faults)
    faults.refuse()
    people = _People()
    rows = [row for cells in _cells(table, columns, faults) if (row := _row(*cells, people, faults)) is not None]
    if not rows and not faults.errors:
        faults.add("file", "There is no row below the headings.")
    for person, times in Counter(row.person for row in rows).items():
        if times > 1:
            again = [one.number for one in rows if one.person == person]
            faults.add("person", f"{person} is in the file more than once.", again[1], "duplicate")
    faults.refuse()
    return rows


def _table(data: bytes, faults: _Faults) -> list[list[str]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        faults.add("file", "This is not text in UTF-8. Save it as CSV in UTF-8.")
        return []
    first = text.split("\n", 1)[0]
    delimiter = max(DELIMITERS, key=first.count)
    try:
        table = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        faults.add("file", f"This is not CSV: {error}.")
        return []
    if not table or not any(table[0]):
        faults.add("file", "The first row must be the headings.")
    if len(table) > MOST_ROWS:
        faults.add("file", f"It has more than {MOST_ROWS:,} rows.")
    return table


def _columns(headings: list[str], faults: _Faults) -> dict[str, int]:
    columns: dict[str, int] = {}
    for place, heading in enumerate(headings):
        field = MEANS.get(" ".join(re.split(r"[\s_\-]+", heading.strip().lower())))
        if field in columns:
            faults.add(field, f"Two columns say this: the second is headed “{heading[:60]}”.", 1, "duplicate")
        elif field is not None:
            columns[field] = place
    for field in NEEDED:
        if field not in columns:
            faults.add(field, f"No column is headed {' or '.join(HEADINGS[field])}.", 1, "required")
    if "person" not in columns and "person_id" not in columns:
        faults.add("person", "No column is headed person, name, employee or person id.", 1, "required")
    return columns


def _cells(table: list[list[str]], columns: dict[str, int], faults: _Faults) -> Iterator[tuple[int, dict[str, str]]]:
    for number, cells in enumerate(table[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(table[0]):
            faults.add("file", "This row has more cells than there are headings.", number)
            continue
        yield number, {name: cells[at].strip() if at < len(cells) else "" for name, at in columns.items()}


def _row(number: int, cells: dict[str, str], people: "_People", faults: _Faults) -> PayrollRow | None:
    person = people.find(number, cells, faults)
    amounts = {field: _cents(cells[field]) for field in NEEDED}
    for field, cents in amounts.items():
        if cents is None:
            faults.add(field, f"“{cells[field][:40]}” is not an amount in dollars and cents.", number)
    gross, employer = amounts["gross"], amounts["employer"]
    if person is None or gross is None or employer is None:
        return None
    return PayrollRow(number, person, gross, employer)


def _cents(text: str) -> int | None:
    found = AMOUNT.fullmatch(text)
    if found is None:
        return None
    sign, dollars, cents = found.groups()
    whole = int(Decimal(f"{dollars.replace(',', '')}.{cents or '0'}") * 100)
    return None if whole > MOST_CENTS else -whole if sign else whole


class _People:
    """By id, else by name; a name that two people have names nobody."""

    def __init__(self) -> None:
        self.by_id: dict[UUID, Person] = {}
        self.by_name: dict[str, list[Person]] = {}
        for person in Person.objects.order_by("pk"):
            self.by_id[person.public_id] = person
            self.by_name.setdefault(_plain(person.name), []).append(person)

    def find(self, number: int, cells: dict[str, str], faults: _Faults) -> Person | None:
        field = "person_id" if cells.get("person_id") else "person"
        told = cells.get(field, "")
        found = self._by_id(told) if field == "person_id" else self.by_name.get(_plain(told), [])
        if len(found) == 1 and is_paid(found[0]):
            return found[0]
        if not told:
            faults.add(field, "Nobody is named.", number, "required")
        elif not found:
            faults.add(field, f"“{told[:60]}” is not known here.", number, "unknown")
        elif len(found) > 1:
            faults.add(field, f"{len(found)} people are called “{told[:60]}”. Give the person id.", number)
        else:
            faults.add(field, f"{found[0]} is not on payroll ({found[0].get_person_type_display().lower()}).", number)
        return None

    def _by_id(self, told: str) -> list[Person]:
        try:
            return [self.by_id[UUID(told)]]
        except (ValueError, KeyError):
            return []


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
