"""Survey files: handing one in, what came of it, taking it back; surveys to look at and to void."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.contrib import admin, messages
from django.contrib.admin.helpers import ActionForm
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils.html import format_html, format_html_join

from orders.common.admin import LookOnly, LookOnlyAdmin, PartsInline, admin_stamp
from orders.common.errors import Refusal
from orders.sites.convert import finding_words
from orders.sites.models import Survey, SurveyComponent, SurveyImport
from orders.sites.selectors import survey_imports, surveys
from orders.sites.services.reasons import REASON_CHARACTERS
from orders.sites.services.surveys import (
    LAYER_CHARACTERS,
    survey_import_ask,
    survey_import_undo,
    survey_void,
)

FINDINGS_SHOWN = 200


class ReasonForm(ActionForm):
    """Stands beside the choice of action: what takes a record back says why."""

    reason = forms.CharField(max_length=REASON_CHARACTERS, required=False)


class SurveyFileForm(forms.Form):
    file = forms.FileField(
        help_text="GeoPackage, zipped Shapefile, GeoJSON, KML, KMZ, GPX, FlatGeobuf, or CSV with its locations."
    )
    mapping = forms.FileField(
        required=False, help_text="A JSON file that says which columns are which of ours; none for our own names."
    )
    layer = forms.CharField(max_length=LAYER_CHARACTERS, required=False, help_text="Where the file has several.")
    dry_run = forms.BooleanField(required=False, help_text="Check and report; add nothing.")
    keep_good_rows = forms.BooleanField(required=False, help_text="Take the good rows even where others are bad.")

    def clean_mapping(self) -> str:
        given = self.cleaned_data["mapping"]
        try:
            return given.read().decode("utf-8-sig") if given else ""
        except UnicodeDecodeError as error:
            raise forms.ValidationError("This is not text in UTF-8.") from error


@admin.register(SurveyImport)
class SurveyImportAdmin(LookOnlyAdmin):
    list_display = ("file_name", "outcome", "rows_read", "rows_added", "rows_known", "asked_by", "asked_at")
    list_filter = ("state", "refused", "dry_run", ("undone_at", admin.EmptyFieldListFilter))
    search_fields = ("file_name", "file_sha256")
    fieldsets = (
        (None, {"fields": ("file_name", "file_sha256", "layer", "mapping", "dry_run", "keep_good_rows")}),
        ("Work", {"fields": ("asked_by", "asked_at", "state", "progress", "error", "finished_at")}),
        ("Result", {"fields": ("outcome", "rows_read", "rows_added", "rows_known", "surveys_added", "patches_added")}),
        ("Found", {"fields": ("what_is_wrong", "what_to_look_at", "undone_at")}),
    )
    actions = ("undo",)
    action_form = ReasonForm

    def get_queryset(self, request: HttpRequest) -> QuerySet[SurveyImport]:
        return survey_imports().defer("file_bytes", "errors", "warnings")

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self.opened(request)

    def add_view(
        self, request: HttpRequest, form_url: str = "", extra_context: dict[str, Any] | None = None
    ) -> HttpResponse:
        """Queue an import. The page of the import then tells how it goes."""
        if not self.has_add_permission(request):
            raise PermissionDenied
        form = SurveyFileForm(request.POST, request.FILES) if request.method == "POST" else SurveyFileForm()
        if form.is_valid():
            imported = _ask(request, form)
            if imported is not None:
                return redirect("admin:sites_surveyimport_change", imported.pk)
        context = {**self.admin_site.each_context(request), "title": "Import a survey", "form": form, "opts": self.opts}
        return TemplateResponse(request, "admin/sites/surveyimport/hand_in.html", context)

    @admin.display(description="Outcome")
    def outcome(self, imported: SurveyImport) -> str:
        if imported.undone_at:
            return "undone"
        if imported.state != "done":
            return imported.get_state_display()
        if imported.refused:
            return "refused"
        return "checked only" if imported.dry_run else "taken"

    @admin.display(description="Progress")
    def progress(self, imported: SurveyImport) -> str:
        return f"{imported.progress_note} {imported.progress_done} of {imported.progress_total}".strip()

    @admin.display(description="Errors")
    def what_is_wrong(self, imported: SurveyImport) -> str:
        return _listed(imported.errors)

    @admin.display(description="To look at")
    def what_to_look_at(self, imported: SurveyImport) -> str:
        return _listed(imported.warnings)

    @admin.action(description="Undo: void the surveys of the import (with a reason)")
    def undo(self, request: HttpRequest, chosen: QuerySet[SurveyImport]) -> None:
        stamp = admin_stamp(request).because(request.POST.get("reason", ""))
        for imported in chosen:
            try:
                undone = survey_import_undo(imported=imported, stamp=stamp)
            except Refusal as refusal:
                self.message_user(request, f"{imported.file_name}: {_words(refusal)}", messages.ERROR)
                continue
            bare = ", ".join(str(patch) for patch in undone.patches_bare)
            left = f" Patches without a survey now: {bare}." if bare else ""
            self.message_user(request, f"{imported.file_name}: {undone.surveys_voided} surveys voided.{left}")


def _ask(request: HttpRequest, form: SurveyFileForm) -> SurveyImport | None:
    """The queued import, or None after the form was told what is wrong."""
    given = form.cleaned_data
    try:
        return survey_import_ask(
            data=given["file"].read(),
            file_name=given["file"].name,
            mapping_text=given["mapping"],
            layer=given["layer"],
            dry_run=given["dry_run"],
            keep_good_rows=given["keep_good_rows"],
            stamp=admin_stamp(request).because(""),
        )
    except Refusal as refusal:
        for error in refusal.errors:
            form.add_error(error.field, error.message)
    return None


def _listed(found: Sequence[dict[str, Any]]) -> str:
    if not found:
        return "none"
    lines = format_html_join("", "<li>{}</li>", ((finding_words(each),) for each in found[:FINDINGS_SHOWN]))
    more = len(found) - FINDINGS_SHOWN
    return format_html("<ul>{}</ul>{}", lines, f"and {more} more" if more > 0 else "")


def _words(refusal: Refusal) -> str:
    return " ".join([refusal.detail, *(error.message for error in refusal.errors)])


class ComponentInline(LookOnly, PartsInline):
    model = SurveyComponent
    fields = (
        "species",
        "growth_form",
        "infested_area_m2",
        "cover_as_entered",
        "cover_low",
        "cover_likely",
        "cover_high",
        "stems_small",
        "stems_medium",
        "stems_large",
        "height_m",
        "cut_height_m",
        "host_trees",
        "fertile",
        "reproductive_condition",
    )


@admin.register(Survey)
class SurveyAdmin(LookOnlyAdmin):
    list_display = ("patch", "observed_on", "observer", "gross_area_m2", "source", "voided_at")
    list_filter = (
        "patch__site",
        "components__species",
        "components__growth_form",
        ("voided_at", admin.EmptyFieldListFilter),
    )
    date_hierarchy = "observed_on"
    search_fields = ("patch__code", "patch__name", "patch__site__code", "observer", "notes", "source__file_name")
    inlines = (ComponentInline,)
    actions = ("void",)
    action_form = ReasonForm

    def get_queryset(self, request: HttpRequest) -> QuerySet[Survey]:
        return surveys()

    @admin.action(description="Void the surveys (with a reason)")
    def void(self, request: HttpRequest, chosen: QuerySet[Survey]) -> None:
        stamp = admin_stamp(request).because(request.POST.get("reason", ""))
        for survey in chosen:
            try:
                survey_void(survey=survey, stamp=stamp)
            except Refusal as refusal:
                self.message_user(request, f"{survey}: {_words(refusal)}", messages.ERROR)
            else:
                self.message_user(request, f"{survey}: voided.")
