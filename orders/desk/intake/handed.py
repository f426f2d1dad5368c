"""Files that were handed in: the list of them, what came of one, and taking it back."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.models.run import DONE
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.desk.intake.findings import findings_file, findings_told
from orders.desk.intake.leaving import layers_told
from orders.desk.list_rows import SAVED_MATCHES, SURVEY_FILES
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.telling import run_state
from orders.desk.views.pages import page, tried
from orders.sites.models import SurveyImport
from orders.sites.selectors import survey_import_get
from orders.sites.services import survey_import_undo
from orders.sites.services.reasons import REASON_CHARACTERS
from orders.sites.services.survey_files import survey_mapping_remove
from orders.sites.survey_file_selectors import (
    STATES,
    TAKEN,
    handed_in,
    handed_in_lines,
    import_state,
    survey_file_of,
    survey_mapping_get,
    survey_mappings,
)

ROWS_A_PAGE = 25
WHAT = "The list of survey files"
COLUMNS = {
    "file": Sortable("File", "name"),
    "state": Sortable("State"),
    "at": Sortable("Handed in", "at"),
    "added": Sortable("Rows added", "added", is_number=True),
    "known": Sortable("Known", "known", is_number=True),
}
MATCH_COLUMNS = {"name": Sortable("Name", "name"), "columns": Sortable("Made for the columns")}
MARKS = {
    "waiting": "state-wait",
    "working": "state-wait",
    "taken": "state-good",
    "checked": "state-off",
    "refused": "state-bad",
    "undone": "state-off",
    "broken": "state-bad",
}


class ListForm(forms.Form):
    text = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="File or person")
    state = forms.ChoiceField(choices=[("", "All"), *STATES], required=False, label="State")

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data.get(name) for name in self.fields)


class UndoForm(forms.Form):
    reason = forms.CharField(
        max_length=REASON_CHARACTERS, label="Why is it taken back?", help_text="Kept with each survey that is voided."
    )


@require_safe
@page
def handed_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    form = ListForm(request.GET)
    told = asked(form)
    listed = rows_sorted(request, handed_in(text=told["text"], state=told["state"]), COLUMNS, "-at")
    if file_asked(request):
        return SURVEY_FILES.reply(handed_in_lines(listed.found))
    rows = listed.page(request.GET.get("page"), ROWS_A_PAGE)
    lines = [(line, dict(STATES)[line.state], MARKS[line.state]) for line in handed_in_lines(rows)]
    shown = {"form": form, "rows": rows, "lines": lines, "headings": listed.headings, "sort": listed.sort}
    shown["may_write"] = actor.has_role(*DESK)
    return render(request, "desk/intake/handed.html", shown)


@require_safe
@page
def import_page(request: HttpRequest, actor: User, import_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    return _import_page(request, actor, _import(actor, import_id), UndoForm(), None)


def _import(actor: User, import_id: UUID) -> SurveyImport:
    found = survey_import_get(import_id)
    if found.is_trial:
        raise NotFound("This was the trial of a file. Look at the file itself.")
    return found


def _import_page(
    request: HttpRequest, actor: User, imported: SurveyImport, form: UndoForm, refusal: Refusal | None
) -> HttpResponse:
    state, file = import_state(imported), survey_file_of(imported)
    told: dict[str, Any] = {
        "imported": imported,
        "run": imported,
        "told": run_state(imported),
        "state": dict(STATES)[state],
        "mark": MARKS[state],
        "file": file,
        **(layers_told(file) if file else {}),
        "may_write": actor.has_role(*DESK),
        "may_undo": actor.has_role(*DESK) and state == TAKEN and imported.surveys_added > 0,
        "form": form,
        "refusal": refusal,
        "step": "take",
    }
    if imported.state == DONE:
        told |= findings_told(imported, request.GET.get("found", ""), request.GET.get("page"))
    status = refusal.status if refusal else 400 if form.is_bound and form.errors else 200
    return render(request, "desk/intake/import.html", told, status=status)


@require_POST
@page
def import_undone(request: HttpRequest, actor: User, import_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Taking an import back")
    imported, form = _import(actor, import_id), UndoForm(request.POST)
    if not form.is_valid():
        return _import_page(request, actor, imported, form, None)
    stamp = Stamp(by=actor, at=now(), reason=form.cleaned_data["reason"])
    try:
        undone = survey_import_undo(imported=imported, stamp=stamp)
    except Refusal as refused:
        return _import_page(request, actor, imported, form, refused)
    bare = ", ".join(str(patch) for patch in undone.patches_bare)
    left = f" These patches have no survey now: {bare}." if bare else ""
    many = "surveys are" if undone.surveys_voided != 1 else "survey is"
    messages.success(request, f"Taken back: {undone.surveys_voided} {many} void.{left}")
    return redirect("survey-import", import_id=import_id)


@require_safe
@page
def import_findings(request: HttpRequest, actor: User, import_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    return findings_file(_import(actor, import_id))


@require_safe
@page
def mappings_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, "The list of saved matches")
    listed = rows_sorted(request, survey_mappings(), MATCH_COLUMNS, "name")
    if file_asked(request):
        return SAVED_MATCHES.reply(listed.found)
    told = {"rows": listed.page(request.GET.get("page"), ROWS_A_PAGE), "headings": listed.headings}
    return render(request, "desk/intake/mappings.html", {**told, "may_write": actor.has_role(*DESK)})


@require_safe
@page
def mapping_file(request: HttpRequest, actor: User, mapping_id: UUID) -> HttpResponse:
    """As the terminal and the API take it."""
    page_opens_to(actor, OFFICE, "The list of saved matches")
    row = survey_mapping_get(mapping_id)
    reply = JsonResponse(row.mapping, json_dumps_params={"indent": 1, "ensure_ascii": False})
    reply.headers["Content-Disposition"] = 'attachment; filename="mapping.json"'
    return reply


@require_POST
@page
def mapping_removed(request: HttpRequest, actor: User, mapping_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Removing saved matches")
    row = survey_mapping_get(mapping_id)
    version = request.POST.get("version", "")
    expected = int(version) if version.isdecimal() else 0
    refusal = tried(lambda: survey_mapping_remove(row=row, expected=expected, stamp=Stamp(by=actor, at=now())))
    if refusal:
        messages.error(request, refusal.detail)
    else:
        messages.success(request, f"{row.name} is removed. Files that were matched by it keep their matches.")
    return redirect("survey-mappings")
