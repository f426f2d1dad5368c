"""What may be typed about places: sites and their boundary, jurisdictions, growth forms, questions."""

import json
from functools import cache
from typing import Any
from zoneinfo import available_timezones

import shapely
from django import forms

from orders.common.rows import row_mark
from orders.desk.setup.kit import version_field
from orders.sites.geofiles.outlines import Problem
from orders.sites.geofiles.shape_text import MOST_CHARACTERS, shape_of_text
from orders.sites.models import ChecklistQuestion, GrowthForm, Jurisdiction, Site
from orders.sites.selectors import jurisdiction_by_code, jurisdictions_offered

CODE_STAYS = "Short, and for good: files and labels name it."
# The zones of the United States come first; all others of the IANA list follow.
ZONES_FIRST = (
    "America/New_York",
    "America/Kentucky/Louisville",
    "America/Indiana/Indianapolis",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",
    "America/Los_Angeles",
    "America/Anchorage",
    "Pacific/Honolulu",
)


@cache
def _zones() -> list[tuple[str, str]]:
    """The list is read from files: once is enough."""
    others = sorted(name for name in available_timezones() if "/" in name and name not in ZONES_FIRST)
    return [("", "Choose"), *((name, name.replace("_", " ")) for name in (*ZONES_FIRST, *others))]


def values_of(form: forms.Form) -> dict[str, Any]:
    return {name: value for name, value in form.cleaned_data.items() if name != "version"}


class SiteForm(forms.Form):
    """A site and its boundary; the view puts the outline of a file into the field of the boundary."""

    code = forms.CharField(max_length=20, label="Code", help_text=f"{CODE_STAYS} Such as HOLLOW.")
    name = forms.CharField(max_length=120, label="Name", help_text="As it stands on orders.")
    jurisdiction = forms.ChoiceField(
        label="Jurisdiction", help_text="Whose rules apply: licenses, labels and records go by it."
    )
    time_zone = forms.ChoiceField(
        choices=_zones, label="Time zone", help_text="Of the site itself: its days begin and end by it."
    )
    drive_minutes = forms.IntegerField(
        min_value=0,
        max_value=1_440,
        label="Drive from the shop, minutes",
        help_text="One way. Every crew day there pays it twice.",
    )
    drive_miles = forms.DecimalField(
        min_value=0,
        max_value=9_999,
        max_digits=6,
        decimal_places=1,
        label="Drive from the shop, miles",
        help_text="One way; mileage is priced by it.",
    )
    access_notes = forms.CharField(
        required=False,
        max_length=4000,
        label="Way in for crews",
        help_text="Gates, keys, where to park. It stands on orders.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    file = forms.FileField(
        required=False,
        max_length=300,
        label="Boundary from a file",
        help_text="GeoJSON, GeoPackage, KML, GPX or a zipped shapefile, with the site's one outline in it. It goes "
        "before what is drawn.",
        widget=forms.FileInput(attrs={"accept": ".geojson,.json,.gpkg,.kml,.kmz,.gpx,.zip"}),
    )
    boundary = forms.CharField(
        required=False, max_length=MOST_CHARACTERS, label="Boundary", widget=forms.Textarea(attrs={"rows": 5})
    )
    version = version_field()

    def __init__(self, *args: Any, site: Site | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(row.code, f"{row.name} ({row.code})") for row in jurisdictions_offered()]
        self.fields["jurisdiction"].choices = [("", "Choose"), *choices]  # type: ignore[attr-defined]
        if site is not None:
            del self.fields["code"]

    @classmethod
    def of(cls, site: Site) -> "SiteForm":
        names = ("name", "time_zone", "drive_minutes", "drive_miles", "access_notes", "version")
        told = {name: getattr(site, name) for name in names}
        told |= {"jurisdiction": site.jurisdiction.code, "boundary": json.dumps(site.boundary)}
        return cls(initial=told, site=site)

    def clean_boundary(self) -> dict[str, Any]:
        """As GeoJSON; whether it is sound ground the service says."""
        shape = shape_of_text(str(self.cleaned_data["boundary"]))
        if isinstance(shape, Problem):
            raise forms.ValidationError(shape.reason)
        told: dict[str, Any] = json.loads(shapely.to_geojson(shape))
        return told

    @property
    def facts(self) -> list[forms.BoundField]:
        return [field for field in self.visible_fields() if field.name not in {"file", "boundary"}]

    @property
    def upload(self) -> list[forms.BoundField]:
        return [self["file"]]

    def values(self) -> dict[str, Any]:
        told = values_of(self)
        del told["file"]
        return told | {"jurisdiction": jurisdiction_by_code(told["jurisdiction"])}


class MarkedForm(forms.Form):
    """Of a row without a version: its mark travels hidden."""

    version = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    @property
    def read(self) -> str:
        return str(self.cleaned_data["version"])


class JurisdictionForm(MarkedForm):
    code = forms.CharField(max_length=10, label="Code", help_text=f"{CODE_STAYS} A state's two letters, mostly.")
    name = forms.CharField(max_length=80, label="Name", help_text="Such as the state's name.")

    @classmethod
    def of(cls, row: Jurisdiction) -> "JurisdictionForm":
        form = cls(initial={"name": row.name, "version": row_mark(row)})
        del form.fields["code"]
        return form


class GrowthFormForm(MarkedForm):
    name = forms.CharField(max_length=40, label="Name", help_text="How pages and files call it.")

    @classmethod
    def of(cls, row: GrowthForm) -> "GrowthFormForm":
        return cls(initial={"name": row.name, "version": row_mark(row)})


class QuestionForm(MarkedForm):
    code = forms.SlugField(max_length=50, label="Code", help_text=f"{CODE_STAYS} Letters, digits and hyphens.")
    question = forms.CharField(
        max_length=200,
        label="Question",
        help_text="One thing that a person can answer for a site, such as whether the neighbor was told.",
    )
    sort = forms.IntegerField(
        min_value=0, max_value=32_767, label="Place in the list", help_text="Smaller numbers are asked earlier."
    )

    @classmethod
    def of(cls, row: ChecklistQuestion) -> "QuestionForm":
        form = cls(initial={"question": row.question, "sort": row.sort, "version": row_mark(row)})
        del form.fields["code"]
        return form
