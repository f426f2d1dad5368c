"""Sites, species, calendars, closures and checklists; patches to edit, surveys to look at."""

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from orders.common.admin import AddOnlyAdmin, LookOnlyAdmin, RecordedAdmin, VersionedForm, admin_stamp
from orders.common.errors import Invalid
from orders.sites import admin_imports  # noqa: F401 - it registers the pages of surveys and their files
from orders.sites.models import (
    CalendarEvent,
    ChecklistAnswer,
    ChecklistQuestion,
    Closure,
    DailyWeather,
    GrowthForm,
    Jurisdiction,
    Patch,
    Site,
    Species,
)
from orders.sites.services.masters import boundary_put, time_zone_known
from orders.sites.services.species import DAYS, PHENOLOGY, phenology_problems


@admin.register(GrowthForm)
class GrowthFormAdmin(RecordedAdmin):
    list_display = ("name", "code", "fruits")


@admin.register(Jurisdiction)
class JurisdictionAdmin(RecordedAdmin):
    list_display = ("name", "code")
    readonly_fields = ("is_active",)  # the set-up page asks what still needs it


class SpeciesForm(VersionedForm):
    """An answer stands with its source, and days of the year as well, as where species are added by a file."""

    def clean_reroot_source(self) -> str:
        source: str = self.cleaned_data["reroot_source"]
        if self.cleaned_data.get("pulled_stems_reroot") != "unknown" and not source.strip():
            raise forms.ValidationError("Say where the answer comes from.")
        return source

    def clean(self) -> dict[str, Any]:
        told: dict[str, Any] = super().clean() or self.cleaned_data
        proposed = Species(**{name: told.get(name) for name in PHENOLOGY})
        for field, message in phenology_problems(proposed):
            self.add_error(f"{field}_day" if field in DAYS else field, message)
        return told


@admin.register(Species)
class SpeciesAdmin(RecordedAdmin):
    form = SpeciesForm
    list_display = ("common_name", "scientific_name", "code", "evergreen", "resprouts", "pulled_stems_reroot")
    search_fields = ("common_name", "scientific_name", "code")


class SiteForm(VersionedForm):
    """The box around the boundary follows from it."""

    def clean_time_zone(self) -> str:
        name: str = self.cleaned_data["time_zone"]
        if not time_zone_known(name):
            raise forms.ValidationError(f"{name} is no IANA time zone.")
        return name

    def clean_boundary(self) -> Any:
        try:
            boundary_put(self.instance, self.cleaned_data["boundary"])
        except Invalid as refusal:
            raise forms.ValidationError([error.message for error in refusal.errors]) from refusal
        return self.instance.boundary


@admin.register(Site)
class SiteAdmin(RecordedAdmin):
    form = SiteForm
    list_display = ("name", "code", "jurisdiction", "time_zone", "drive_minutes", "drive_miles")
    list_filter = ("jurisdiction",)
    list_select_related = ("jurisdiction",)
    search_fields = ("name", "code")
    exclude = ("min_lon", "min_lat", "max_lon", "max_lat")


@admin.register(ChecklistQuestion)
class ChecklistQuestionAdmin(RecordedAdmin):
    list_display = ("question", "code", "sort")


@admin.register(ChecklistAnswer)
class ChecklistAnswerAdmin(AddOnlyAdmin):
    """A new answer goes beside the one before; the newest counts."""

    list_display = ("site", "question", "answer", "stops_work", "valid_until", "answered_by", "answered_at")
    list_filter = ("site", "question", "stops_work")
    list_select_related = ("site", "question", "answered_by")
    readonly_fields = ("answered_by", "answered_at")

    def save_model(self, request: HttpRequest, obj: ChecklistAnswer, form: Any, change: bool) -> None:
        stamp = admin_stamp(request)
        obj.answered_by, obj.answered_at = stamp.by, stamp.at
        super().save_model(request, obj, form, change)


@admin.register(CalendarEvent)
class CalendarEventAdmin(RecordedAdmin):
    list_display = ("site", "kind", "year", "on", "source")
    list_filter = ("site", "kind")
    list_select_related = ("site",)


@admin.register(Closure)
class ClosureAdmin(RecordedAdmin):
    list_display = ("site", "kind", "first_day", "last_day", "repeats_yearly", "why")
    list_filter = ("site", "kind")
    list_select_related = ("site",)


@admin.register(DailyWeather)
class DailyWeatherAdmin(LookOnlyAdmin):
    """Weather comes from files."""

    list_display = ("site", "day", "low_c", "high_c", "rain_mm", "source")
    list_filter = ("site",)
    date_hierarchy = "day"
    list_select_related = ("site",)


@admin.register(Patch)
class PatchAdmin(RecordedAdmin):
    """Patches come with surveys; what is wanted of them is set here."""

    list_display = ("site", "code", "name", "target_cover", "control_state")
    list_filter = ("control_state", "site")
    list_select_related = ("site",)
    search_fields = ("code", "name")
    readonly_fields = ("site", "code")

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
