"""What is sent to the pages of payroll and of effort statements: days, files and names."""

from datetime import date, timedelta
from typing import Any

from django import forms

from orders.costs.payroll_file import HEADINGS

FILE_BYTES = 5_000_000
USUAL_DAYS = 14
FILE_HELP = "CSV in UTF-8 with the columns person (or person id), gross, employer cost."
TWO_DAYS = {"type": "date"}


class DaysForm(forms.Form):
    first_day = forms.DateField(label="First day", widget=forms.DateInput(attrs=TWO_DAYS, format="%Y-%m-%d"))
    last_day = forms.DateField(label="Last day", widget=forms.DateInput(attrs=TWO_DAYS, format="%Y-%m-%d"))


def days_after(last_day: date | None) -> dict[str, Any]:
    """The two weeks after the newest period; nothing where there is none."""
    if last_day is None:
        return {}
    return {"first_day": last_day + timedelta(days=1), "last_day": last_day + timedelta(days=USUAL_DAYS)}


class PayrollFileForm(forms.Form):
    file = forms.FileField(label="Payroll file", help_text=FILE_HELP, max_length=200)

    def clean_file(self) -> Any:
        sent = self.cleaned_data["file"]
        if sent.size > FILE_BYTES:
            raise forms.ValidationError("The file is larger than 5 MB.")
        return sent


class SignForm(forms.Form):
    name = forms.CharField(
        max_length=120,
        label="Your name",
        help_text="Typing it is your signature: the statement tells the work as it was.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )


def headings_told() -> list[tuple[str, str]]:
    """What each column of a payroll file may be headed."""
    return [(field.replace("_", " "), ", ".join(words)) for field, words in HEADINGS.items()]
