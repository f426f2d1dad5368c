"""What may be asked of a report's page: the filters that the report has, its cuts, and how its rows are shown."""

from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.http import urlencode

from orders.reports.asking import month_read
from orders.reports.catalog import Report
from orders.reports.choices import LISTS, choices_of

KEY_CHARACTERS = 200
MOST_PAGES = 1_000_000
FIRST_SHOWN = 4  # one row of fields at 1024 px; the others fold


class MonthField(forms.CharField):
    """2027-03, as browsers with a field for months send it."""

    widget = forms.TextInput(attrs={"type": "month", "placeholder": "2027-03"})

    def clean(self, value: Any) -> str:
        text = str(super().clean(value))
        try:
            return f"{month_read(text):%Y-%m}" if text else ""
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error


MONTHS = {"month_from": "First month", "month_to": "Last month"}


class ReportForm(forms.Form):
    """The question as it stands in the address, so that an address can be kept or passed on."""

    def __init__(self, report: Report, data: QueryDict) -> None:
        said = {name: text for name, text in data.dict().items() if text or name not in report.filters}
        super().__init__({"by": report.usual_cut} | said)
        self.report = report
        for name in report.filters:
            self.fields[name] = self._field(name)
        self.fields["sort"] = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput())
        self.fields["page"] = forms.IntegerField(
            required=False, min_value=1, max_value=MOST_PAGES, widget=forms.HiddenInput()
        )

    def _field(self, name: str) -> forms.Field:
        if name in MONTHS:
            return MonthField(required=False, label=MONTHS[name], max_length=7)
        if name in LISTS:
            label, choices = choices_of(name, self.report.unsaid.get(name, ""))
            return forms.ChoiceField(choices=choices, required=False, label=label)
        if name == "on":
            return forms.DateField(required=False, label="On", widget=forms.DateInput(attrs={"type": "date"}))
        cuts = list(self.report.cuts.items())
        if name == "by":
            return forms.ChoiceField(choices=cuts, required=False, label="Cut by", initial=self.report.usual_cut)
        return forms.ChoiceField(choices=[("", "Nothing more"), *cuts], required=False, label="And by")

    @property
    def shown(self) -> list[Any]:
        return [self[name] for name in self.report.filters]

    @property
    def shown_first(self) -> list[Any]:
        return self.shown[:FIRST_SHOWN] if len(self.shown) > FIRST_SHOWN + 1 else self.shown

    @property
    def shown_folded(self) -> list[Any]:
        return self.shown[len(self.shown_first) :]

    @property
    def folded_words(self) -> str:
        *labels, last = [field.label.lower() for field in self.shown_folded if field.name != "basis"]
        return f"{', '.join(labels)} or {last}" if labels else last

    @property
    def is_folded_used(self) -> bool:
        """So that what narrows the report is seen."""
        return any(self.cleaned_data[field.name] for field in self.shown_folded)

    def query(self) -> dict[str, str]:
        """What was asked, without what is everything anyway."""
        return {name: str(self.cleaned_data[name]) for name in self.report.filters if self.cleaned_data[name]}

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data[name] for name in self.report.filters if name not in {"by", "and"})


class BehindForm(ReportForm):
    """One figure of a report, by its keys, and how far the lists behind it are turned."""

    def __init__(self, report: Report, data: QueryDict) -> None:
        super().__init__(report, data)
        for name in ("key", "and_key"):
            self.fields[name] = forms.CharField(required=False, strip=False, max_length=KEY_CHARACTERS)
        self.fields["planned_page"] = forms.IntegerField(required=False, min_value=1, max_value=MOST_PAGES)

    def cell(self) -> dict[str, str]:
        """The keys of the figure; a cut whose key is not said is not a part of it."""
        pairs = (("by", "key"), ("and", "and_key"))
        return {self.cleaned_data[cut]: self.cleaned_data[key] for cut, key in pairs if key in self.data}


def address_of(query: dict[str, str]) -> str:
    return f"?{urlencode(query)}"
