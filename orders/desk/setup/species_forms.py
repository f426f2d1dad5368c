"""What may be typed about a species. A day of the year is told as month and day, such as 10-15."""

import re
from datetime import date
from typing import Any

from django import forms

from orders.desk.setup.kit import version_field
from orders.sites.models import YES_NO_UNKNOWN, Species
from orders.sites.services import SpeciesYear

MONTH_DAY = re.compile(r"(\d{1,2})[-/ .](\d{1,2})")
DAYS = ("flower_first", "flower_last", "fruit_first", "fruit_last", "leaf_drop")
NATURE = ("scientific_name", "common_name", "evergreen", "resprouts", "pulled_stems_reroot", "reroot_source")
SOURCES = ("flower_source", "phenology_source", "leaf_drop_source")


class MonthDayField(forms.CharField):
    """A day of any year."""

    def __init__(self, label: str, help_text: str = "Month and day, as 10-15. Leave it empty if not known.") -> None:
        super().__init__(required=False, max_length=8, label=label, help_text=help_text)

    def clean(self, value: Any) -> tuple[int, int] | None:
        text = super().clean(value).strip()
        if not text:
            return None
        parts = MONTH_DAY.fullmatch(text)
        try:
            month, day = (int(part) for part in parts.groups()) if parts else (0, 0)
            date(2000, month, day)  # a leap year: February 29 is a day too
        except ValueError as error:
            raise forms.ValidationError("Must be a month and a day, such as 10-15.") from error
        return month, day


def _source(label: str) -> forms.CharField:
    return forms.CharField(
        required=False,
        max_length=300,
        label=label,
        help_text="A publication, a record of your own, or common practice.",
    )


class SpeciesForm(forms.Form):
    code = forms.CharField(
        max_length=20, label="Code", help_text="Short, and for good: survey files name it. Such as EUFO."
    )
    scientific_name = forms.CharField(max_length=120, label="Scientific name")
    common_name = forms.CharField(max_length=120, label="Common name", help_text="As it stands on orders.")
    evergreen = forms.BooleanField(
        required=False,
        label="Keeps its leaves in winter",
        help_text="In leaf while natives are bare, so that it can be sprayed then.",
    )
    resprouts = forms.BooleanField(
        required=False, label="Comes back from cut stems", help_text="Unless the stumps are treated."
    )
    pulled_stems_reroot = forms.ChoiceField(
        choices=YES_NO_UNKNOWN,
        label="Stems left on the ground root again",
        help_text="If so, what is pulled or cut is hauled off.",
    )
    reroot_source = _source("Where that answer comes from")
    flower_first = MonthDayField("Flowers from")
    flower_last = MonthDayField("Flowers until")
    flower_to_fruit_days = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=365,
        label="Days from open flowers to fruit",
        help_text="Work that removes fruit is due before they are over.",
    )
    flower_source = _source("Source of the flowering")
    fruit_first = MonthDayField("Fruits from", "Month and day, as 09-01. The seed deadline comes of it.")
    fruit_last = MonthDayField("Fruits until")
    phenology_source = _source("Source of the fruiting")
    leaf_drop = MonthDayField("Drops its leaves", "Where it holds them after natives have dropped theirs.")
    leaf_drop_source = _source("Source of the leaf drop")
    version = version_field()

    @classmethod
    def of(cls, species: Species) -> "SpeciesForm":
        told = {name: getattr(species, name) for name in (*NATURE, *SOURCES, "flower_to_fruit_days", "version")}
        form = cls(initial=told | {name: _written(species, name) for name in DAYS})
        del form.fields["code"]
        return form

    def added(self) -> dict[str, Any]:
        """As species_add takes it."""
        told = self.cleaned_data
        year = SpeciesYear(**{name: told[name] for name in (*DAYS, *SOURCES, "flower_to_fruit_days")})
        return {name: told[name] for name in ("code", *NATURE)} | {"year": year}

    def values(self) -> dict[str, Any]:
        """As species_edit takes it."""
        told = self.cleaned_data
        values = {name: told[name] for name in (*NATURE, *SOURCES, "flower_to_fruit_days")}
        for name in DAYS:
            values[f"{name}_month"], values[f"{name}_day"] = told[name] or (None, None)
        return values


def _written(species: Species, name: str) -> str:
    month, day = getattr(species, f"{name}_month"), getattr(species, f"{name}_day")
    return "" if month is None or day is None else f"{month:02d}-{day:02d}"
