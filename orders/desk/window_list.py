"""The list of a season's windows: what may be asked of it, and its rows as CSV."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from django import forms
from django.utils.http import urlencode

from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.estimates.selectors import method_names
from orders.planning.models import Season
from orders.planning.window_list import OPEN, SHOWN, SORTS, WindowLine, WindowQuestion
from orders.sites.selectors import sites, species_all

FILTERS = ("text", "site", "method", "species", "shown", "is_open")
HEADINGS = {"patch": "Patch", "method": "Method", "opens": "Opens", "closes": "Closes", "days": "Days"}
NUMBERS = ("days",)
USUAL = {"shown": "used", "sort": "patch"}
CSV_HEADINGS = (
    "season",
    "site",
    "patch",
    "method",
    "recommended",
    "chosen",
    "opens",
    "closes",
    "days",
    "opens because",
    "closes because",
    "notes",
    "seed deadline",
)


class WindowListForm(forms.Form):
    """The question as it comes in an address. Choices are read when it is made."""

    text = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Patch or reason holds")
    shown = forms.ChoiceField(choices=SHOWN, required=False, label="Which methods")
    is_open = forms.ChoiceField(choices=OPEN, required=False, label="Window")
    sort = forms.ChoiceField(choices=[(f"{turn}{name}", name) for name in SORTS for turn in ("", "-")], required=False)
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed: dict[str, list[tuple[str, str]]] = {
            "site": [("", "All sites"), *((row.code, row.name) for row in sites())],
            "method": [("", "All methods"), *((code, name.capitalize()) for code, name in method_names().items())],
            "species": [("", "All species"), *((row.code, row.common_name) for row in species_all())],
        }
        for name, choices in listed.items():
            self.fields[name] = forms.ChoiceField(choices=choices, required=False, label=name.capitalize())

    def question(self) -> WindowQuestion:
        told = asked(self)
        said = {name: told[name] or USUAL.get(name, "") for name in (*FILTERS, "sort")}
        return WindowQuestion(**said)


def address(question: WindowQuestion) -> str:
    """The query part of the address; what is as usual is left out."""
    said = {name: value for name, value in vars(question).items() if value and value != USUAL.get(name)}
    return f"?{urlencode(said)}"


def sorted_by(question: WindowQuestion, column: str) -> WindowQuestion:
    """Longest first, names from A, early days first; once more turns it."""
    first = f"-{column}" if column in NUMBERS else column
    turned = column if first.startswith("-") else f"-{column}"
    return replace(question, sort=turned if question.sort == first else first)


def is_narrowed(question: WindowQuestion) -> bool:
    return replace(question, sort=USUAL["sort"]) != WindowQuestion()


def windows_told(season: Season, rows: Iterable[WindowLine]) -> Iterator[list[str]]:
    """A row of the file for each window, and one for a method without any."""
    for row in rows:
        yield from ([season.name, *cells] for cells in _cells(row))


def _cells(row: WindowLine) -> Iterable[list[str]]:
    patch = row.line.patch
    named = [patch.site.code, patch.code, row.method.name]
    marked = ["yes" if marked else "no" for marked in (row.is_recommended, row.chosen)]
    notes = " ".join(row.report.notes)
    due = row.seed.due.isoformat() if row.seed else ""
    before = [*named, *marked]
    if not row.windows:
        yield [*before, "", "", "0", "", "", notes, due]
    for window in row.windows:
        ends = [window.opens.isoformat(), window.closes.isoformat(), str(window.days)]
        because = [window.opens_because, window.closes_because]
        yield [*before, *ends, *because, notes, due]
