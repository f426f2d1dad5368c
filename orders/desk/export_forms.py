"""What is sent to the pages of files, saved views and schedules."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import parse_qsl, urlencode

from django import forms
from django.http import QueryDict

from orders.common.models import User
from orders.reports.catalog import reports_open_to
from orders.reports.models import ReportSchedule, SavedView
from orders.reports.selectors import mail_readers
from orders.reports.services import TABLE_FORMATS

FORMATS = [(word, word.upper()) for word in TABLE_FORMATS]
HOURS = [(hour, f"{hour:02d}:00") for hour in range(24)]
DAYS = [(day, str(day)) for day in range(1, 29)]
OWN_WORDS = {"csrfmiddlewaretoken", "report", "format", "query", "name", "is_shared", "version"}
QUERY_CHARACTERS = 4_000


def query_of(data: QueryDict) -> dict[str, str]:
    """A report's own words: as an address's query under `query`, or beside ours."""
    said = dict(parse_qsl(data.get("query", "")[:QUERY_CHARACTERS]))
    return said | {name: str(data[name]) for name in data if name not in OWN_WORDS and data[name]}


def query_address(query: Mapping[str, str]) -> str:
    return urlencode(sorted(query.items()))


class ViewForm(forms.Form):
    """Its name, and whether others see it; the report and its words come along unseen."""

    name = forms.CharField(max_length=80, label="Name")
    is_shared = forms.BooleanField(required=False, label="For everybody who may see the report")

    @classmethod
    def of(cls, view: SavedView) -> "ViewForm":
        return cls(initial={"name": view.name, "is_shared": view.is_shared})


class ScheduleForm(forms.Form):
    """The write checks days and readers; the form reads them."""

    name = forms.CharField(max_length=80, label="Name")
    report = forms.ChoiceField(label="Report")
    query = forms.CharField(
        required=False,
        max_length=QUERY_CHARACTERS,
        label="Narrowed and cut",
        help_text="Filled in by the button Schedule of a report that was cut and narrowed. Empty: the whole report.",
    )
    file_format = forms.ChoiceField(choices=FORMATS, label="Format")
    every = forms.ChoiceField(choices=ReportSchedule.EVERY, label="How often")
    on_day = forms.TypedChoiceField(
        choices=DAYS,
        coerce=int,
        label="On day",
        help_text="Weekday, Monday is 1; or the day of the month, to 28. Every day: not looked at.",
    )
    at_hour = forms.TypedChoiceField(choices=HOURS, coerce=int, initial=7, label="At")
    recipients = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="Mailed to",
        help_text="People with a mail address whose role opens the report.",
    )

    def __init__(self, actor: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reports = reports_open_to(actor)
        self.fields["report"].choices = [(report.code, report.name) for report in reports]  # type: ignore[attr-defined]
        self.readers = {str(person.public_id): person for one in reports for person in mail_readers(one.code)}
        named = [(key, person.get_full_name() or person.get_username()) for key, person in self.readers.items()]
        self.fields["recipients"].choices = named  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        told = {name: value for name, value in self.cleaned_data.items() if name != "recipients"}
        return {**told, "query": dict(parse_qsl(told["query"]))}

    def people(self) -> list[User]:
        return [self.readers[key] for key in self.cleaned_data["recipients"]]


def schedule_initial(row: ReportSchedule) -> dict[str, Any]:
    names = ("name", "report", "file_format", "every", "on_day", "at_hour")
    readers = [str(person.public_id) for person in row.recipients.all()]
    told = {name: getattr(row, name) for name in names}
    return {**told, "query": query_address(row.query), "recipients": readers}


def errors_put(form: forms.Form, errors: Any) -> None:
    for error in errors:
        form.add_error(error.field if error.field in form.fields else None, error.message)
