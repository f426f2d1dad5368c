"""What may be asked and typed on the pages of rate books."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from estimating.inputs import GROWTH_FORMS
from estimating.rate_rows import COMPONENT_DRIVERS, COMPONENT_FACTORS, JOB_DRIVERS, KINDS, PATCH_FACTORS, UNIT_HOURS
from orders.common.errors import FieldError, Invalid, Refusal
from orders.desk.templatetags.rates import FIGURES, figure_name
from orders.estimates.convert import RATE_COLUMNS, WHOLE_CREW
from orders.estimates.models import RateBook
from orders.estimates.services.rates import LONGEST

CSV_BYTES = 1_000_000
FILE_HELP = "A CSV file (UTF-8) whose first row names the columns, as a book's own download has them."


@dataclass(frozen=True)
class ColumnWords:
    """A column of a rate as people read it."""

    label: str
    help: str


COLUMNS: dict[str, ColumnWords] = {
    "kind": ColumnWords(
        "Kind", "Rate: the time of a step. Factor: makes it longer. Allowance: a figure. Spread: the error of a survey."
    ),
    "method": ColumnWords("Method", "“All methods” holds where a method has no row of its own."),
    "step": ColumnWords("Step, or name of the figure", "A step as the crew calls it, or a figure of the list."),
    "growth_form": ColumnWords("Growth form", "“All forms” holds where a form has no row of its own."),
    "driver": ColumnWords("Goes by", "What the time grows with: an area, stems, a volume, a visit."),
    "from_value": ColumnWords("From", "Factors only: from this value of the driver on."),
    "value": ColumnWords("Value", "In the unit beside it."),
    "unit": ColumnWords("Unit", "h/ha is person-hours for a hectare."),
    "cover_exponent": ColumnWords("Cover exponent", "0: cover does not matter; 1: twice the cover, twice the time."),
    "skill": ColumnWords("Skill", "Who does it; the book says which labor role that is."),
    "shared_spread": ColumnWords("Shared spread", "Log spread of the rate itself: wrong for all orders alike."),
    "own_spread": ColumnWords("Own spread", "Log spread of single orders around the rate."),
    "source": ColumnWords("Source", "Where the figure comes from. “From memory” and “invented” are sources too."),
}
Choices = Sequence[tuple[str, str]]
DRIVERS = (*COMPONENT_DRIVERS, *JOB_DRIVERS, *PATCH_FACTORS, *COMPONENT_FACTORS)
CHOICES: dict[str, Choices] = {
    "kind": [(kind, kind.capitalize()) for kind in KINDS],
    "growth_form": [("", "All forms"), *((form, form.capitalize()) for form in GROWTH_FORMS)],
    "driver": [("", "Nothing"), *((code, figure_name(code).capitalize()) for code in DRIVERS)],
}
SUGGESTED: dict[str, Choices] = {
    "step": [(code, words.capitalize()) for code, words in FIGURES.items() if code not in DRIVERS],
    "unit": [(unit, "") for unit in (*UNIT_HOURS, "multiplier")],
}


@dataclass(frozen=True)
class RateField:
    """One column in the form of a row, with what was typed and what is wrong with it."""

    name: str
    words: ColumnWords
    value: str
    longest: int
    choices: Choices
    suggested: Choices
    errors: tuple[str, ...]


def rate_fields(
    values: dict[str, str], refusal: Refusal | None, line: int, methods: Mapping[str, str]
) -> list[RateField]:
    """The form of the row of a line, with the names of methods by code; errors of that row stand at their column,
    others above the form."""
    choices = {**CHOICES, "method": [("", "All methods"), *methods.items()]}
    return [
        RateField(
            name=name,
            words=words,
            value=values.get(name, ""),
            longest=LONGEST[name],
            choices=_with_own(choices.get(name, ()), values.get(name, "")),
            suggested=SUGGESTED.get(name, ()),
            errors=tuple(error.message for error in errors_of(refusal) if _is_at(error, name, line)),
        )
        for name, words in COLUMNS.items()
    ]


def _with_own(choices: Choices, own: str) -> Choices:
    """What the row says is kept, though nobody could choose it any more."""
    known = not choices or own in dict(choices)
    return choices if known else [*choices, (own, own)]


def other_errors(refusal: Refusal | None, line: int) -> list[FieldError]:
    return [error for error in errors_of(refusal) if not any(_is_at(error, name, line) for name in COLUMNS)]


def errors_of(refusal: Refusal | None) -> list[FieldError]:
    return refusal.errors if refusal else []


def _is_at(error: FieldError, name: str, line: int) -> bool:
    return error.field == name and error.row in (None, line)


def typed_row(posted: Any) -> dict[str, str]:
    return {name: str(posted.get(name, "")) for name in RATE_COLUMNS}


class RowsForm(forms.Form):
    """Which rows of a book are shown."""

    method = forms.CharField(required=False, max_length=20, strip=True)
    kind = forms.ChoiceField(choices=[("", "All kinds"), *CHOICES["kind"]], required=False)
    q = forms.CharField(required=False, max_length=100, label="Step or source holds")


class DayForm(forms.Form):
    day = forms.DateField(label="First day", widget=forms.DateInput(attrs={"type": "date"}))


class CsvForm(forms.Form):
    file = forms.FileField(label="Rates as CSV", help_text=FILE_HELP)
    version = forms.IntegerField(min_value=1, widget=forms.HiddenInput)


class DraftForm(forms.Form):
    """A book from nothing: its rates come as a file, its crew and roles as lines of text."""

    name = forms.CharField(max_length=80, label="Name")
    crew_kind = forms.ChoiceField(choices=RateBook.CREW_KINDS, label="For")
    file = forms.FileField(label="Rates as CSV", help_text=FILE_HELP)
    standard_crew = forms.CharField(
        label="Standard crew",
        help_text="One labor role a line and how many people: crew-lead: 1",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    skill_roles = forms.CharField(
        label="Who does the work of each skill",
        help_text=f"One skill a line and its labor role, as crew: crew-member. {WHOLE_CREW}: all share it.",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    notes = forms.CharField(label="Notes", max_length=4000, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def clean_standard_crew(self) -> dict[str, int]:
        pairs = _pairs(self.cleaned_data["standard_crew"])
        if not all(count.isdecimal() and int(count) <= 100 for count in pairs.values()):
            raise forms.ValidationError("Each line needs a role, a colon and a whole number of people.")
        return {role: int(count) for role, count in pairs.items()}

    def clean_skill_roles(self) -> dict[str, str]:
        return _pairs(self.cleaned_data["skill_roles"])


def _pairs(text: str) -> dict[str, str]:
    lines = [line.partition(":") for line in text.splitlines() if line.strip()]
    if not all(name.strip() and value.strip() for name, _, value in lines):
        raise forms.ValidationError("Each line needs a name, a colon and what belongs to it.")
    return {name.strip(): value.strip() for name, _, value in lines}


def lines_of(pairs: dict[str, Any]) -> str:
    return "\n".join(f"{name}: {value}" for name, value in pairs.items())


def file_text(file: Any) -> str:
    """The text of an uploaded file; too large, or no text: refused."""
    if file.size > CSV_BYTES:
        raise Invalid("The file was not read.", [FieldError("file", f"is larger than {CSV_BYTES:,} bytes")])
    try:
        return str(file.read().decode("utf-8"))
    except UnicodeDecodeError as error:
        raise Invalid("The file was not read.", [FieldError("file", "is not text in UTF-8")]) from error
