"""What may be typed about a site's year: records of its calendar, closures, and files of daily weather."""

from typing import Any

from django import forms

from orders.desk.forms import LABEL_CHARACTERS
from orders.estimates.selectors import method_names
from orders.sites.models import CLOSURE_KINDS, CalendarEvent, Closure, Site

SORTS = {"code": ("code",), "name": ("name",), "patches": ("patch_count",), "records": ("record_count",)}
MOST_FILE_BYTES = 1024**2


def day_field(label: str) -> forms.DateField:
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}))


class SiteListForm(forms.Form):
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Site holds")
    sort = forms.ChoiceField(choices=[(f"{turn}{name}", name) for name in SORTS for turn in ("", "-")], required=False)
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)


class SitePageForm(forms.Form):
    """Which page of a site's closures is shown."""

    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)


class EventForm(forms.Form):
    """A record of the calendar. Its kind stays once it is recorded."""

    kind = forms.ChoiceField(choices=CalendarEvent.KINDS, label="What was seen")
    year = forms.IntegerField(
        min_value=1990, max_value=2200, label="Season", help_text="A leaf-off in January belongs to the year before."
    )
    on = day_field("Day")
    source = forms.CharField(max_length=200, label="Source", help_text="Who saw it, or the log that it stands in.")
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, event: CalendarEvent | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if event is not None:
            del self.fields["kind"]

    @classmethod
    def of(cls, event: CalendarEvent) -> "EventForm":
        values = {"year": event.year, "on": event.on, "source": event.source, "version": event.version}
        return cls(initial=values, event=event)

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class ClosureForm(forms.Form):
    kind = forms.ChoiceField(choices=CLOSURE_KINDS, label="What for")
    first_day = day_field("First day")
    last_day = day_field("Last day")
    repeats_yearly = forms.BooleanField(required=False, label="On the same days of each year that follows")
    why = forms.CharField(max_length=200, label="Why", help_text="Told with each window that it cuts.")
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["methods"] = forms.MultipleChoiceField(
            choices=[(code, name.capitalize()) for code, name in method_names().items()],
            required=False,
            label="Methods that it keeps out",
            help_text="None marked: nobody works there at all.",
            widget=forms.CheckboxSelectMultiple,
        )

    @classmethod
    def of(cls, closure: Closure) -> "ClosureForm":
        names = ("kind", "first_day", "last_day", "repeats_yearly", "why", "methods", "version")
        return cls(initial={name: getattr(closure, name) for name in names})

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class EmergencyForm(forms.Form):
    """How help comes to a site; the way in for crews beside it."""

    access_notes = forms.CharField(
        required=False, max_length=4000, label="Way in for crews", widget=forms.Textarea(attrs={"rows": 4})
    )
    emergency_access = forms.CharField(
        required=False,
        max_length=4000,
        label="Way in for an ambulance",
        help_text="Gates, keys, a landing place.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    meeting_lat = forms.FloatField(
        required=False, min_value=-90, max_value=90, label="Meeting point, latitude", help_text="Degrees, as 38.34812."
    )
    meeting_lon = forms.FloatField(
        required=False, min_value=-180, max_value=180, label="Meeting point, longitude", help_text="As -86.02131."
    )
    nearest_medical_help = forms.CharField(required=False, max_length=200, label="Nearest medical help")
    medical_phone = forms.CharField(required=False, max_length=40, label="Its telephone")
    medical_address = forms.CharField(required=False, max_length=200, label="Its address")
    radio_or_phone = forms.CharField(required=False, max_length=120, label="Radio or telephone that works there")
    worker_protection_rules = forms.BooleanField(
        required=False,
        label="Worker-protection rules apply",
        help_text="Nursery, commercial forest and the like: the restricted-entry interval holds.",
    )
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    @classmethod
    def of(cls, site: Site) -> "EmergencyForm":
        return cls(initial={name: getattr(site, name) for name in cls.base_fields})

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class TakeOutForm(forms.Form):
    """Taking a row out, with the reason."""

    reason = forms.CharField(max_length=200, label="Why", help_text="Kept with what the record said.")
    version = forms.IntegerField(widget=forms.HiddenInput)


class WeatherForm(forms.Form):
    file = forms.FileField(
        label="CSV file",
        help_text="A header, then a day a row: date, low_f and high_f (or low_c and high_c), and rain_in or rain_mm "
        "where it was measured. All days are taken, or none.",
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv", "aria-describedby": "id_file_helptext"}),
    )
    source = forms.CharField(max_length=200, label="Source", help_text="The gauge or station that it comes from.")

    def clean_file(self) -> str:
        """The file's text."""
        held = self.cleaned_data["file"]
        if held.size > MOST_FILE_BYTES:
            raise forms.ValidationError(f"The file is larger than {MOST_FILE_BYTES // 1024**2} MB.")
        try:
            return str(held.read().decode("utf-8-sig"))
        except UnicodeDecodeError as error:
            raise forms.ValidationError("The file is not text in UTF-8.") from error
