"""A file on its way in: handed in, its columns matched, looked at, taken."""

import json
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.intake.handing import FileForm, taken_before
from orders.desk.intake.match_form import Matcher
from orders.desk.intake.match_page import errors_by_name, match_told, shown_document
from orders.desk.intake.words import words_by_field
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.views.pages import page, tried
from orders.sites.convert import known_codes
from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.matching import carried_document, source_of, suggest_document, words_of
from orders.sites.models import SurveyFile
from orders.sites.services.survey_files import (
    survey_file_add,
    survey_file_bytes,
    survey_file_drop,
    survey_file_look,
    survey_file_match,
    survey_file_replace,
    survey_file_take,
    survey_file_try,
    survey_mapping_add,
    survey_mapping_edit,
)
from orders.sites.survey_file_selectors import layer_states, survey_file_get, survey_mappings

WHAT = "Bringing a survey file in"
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _stamp(actor: User) -> Stamp:
    return Stamp(by=actor, at=now())


@form_page
@page
def file_new(request: HttpRequest, actor: User) -> HttpResponse:
    """Hand a file in: it is opened and kept, and nothing of it counts yet."""
    page_opens_to(actor, DESK, WHAT)
    form, refusal = FileForm(request.POST or None, request.FILES or None), None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data["file"]
        try:
            looked = survey_file_look(given.read(), given.name)
            row = survey_file_add(
                looked=looked, mapping=suggest_document(looked.found, known_codes()), stamp=_stamp(actor)
            )
        except Refusal as refused:
            refusal = refused
        else:
            if before := taken_before(row):
                messages.info(
                    request,
                    f"This very file was taken before, as {before.file_name}. Rows that were taken then will be known.",
                )
            return redirect("survey-file", file_id=row.public_id)
    status = 400 if request.method == "POST" else 200
    return render(request, "desk/intake/new.html", {"form": form, "refusal": refusal, "step": "new"}, status=status)


@form_page
@page
def file_match(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    """Which column is which fact. Every step of the form works without scripts; with them it follows each choice."""
    page_opens_to(actor, DESK, WHAT)
    row = survey_file_get(file_id)
    matcher = _matcher(row)
    if request.method != "POST":
        document, saved = shown_document(row, request.GET.get("saved", ""))
        return _match_page(request, row, matcher, document, saved=saved)
    document, step = matcher.document(request.POST), request.POST.get("step", "")
    refusal = None
    if step == "keep":
        refusal = tried(lambda: _mapping_kept(request, row, matcher.found, document, _stamp(actor)))
    elif step == "match":
        refusal = tried(lambda: _matched(row, document, _stamp(actor)))
        if refusal is None:
            return redirect("survey-file-look", file_id=file_id)
    return _match_page(request, row, matcher, document, refusal)


def _matcher(row: SurveyFile) -> Matcher:
    suggested = row.mapping["columns"] if row.mapping and row.matched_at is None else {}
    return Matcher(Found.of(row.found), words_by_field(), words_of(known_codes()), suggested)


def _match_page(
    request: HttpRequest,
    row: SurveyFile,
    matcher: Matcher,
    document: dict[str, Any],
    refusal: Refusal | None = None,
    saved: str = "",
) -> HttpResponse:
    told = match_told(row, matcher, document, errors_by_name(refusal), saved=saved)
    status = refusal.status if refusal else 200
    return render(request, "desk/intake/match.html", {**told, "refusal": refusal, "step": "match"}, status=status)


def _matched(row: SurveyFile, document: dict[str, Any], stamp: Stamp) -> None:
    """Keep the matches and try the file at once: that is what they were made for."""
    survey_file_match(survey_file=row, mapping_text=_text(document), stamp=stamp)
    survey_file_try(survey_file=row, stamp=stamp)


def _text(document: dict[str, Any]) -> str:
    columns = {name: given for name, given in document.get("columns", {}).items() if given}
    return json.dumps({**document, "columns": columns})


def _mapping_kept(request: HttpRequest, row: SurveyFile, found: Found, document: dict[str, Any], stamp: Stamp) -> None:
    """Under a new name, or in place of the one of that name where that was asked for."""
    name, columns = request.POST.get("mapping_name", "").strip(), list(found.fields)
    kept = {**document, "name": name}
    kept.pop("layer", None)
    known = survey_mappings().filter(name=name).first()
    if known is not None and request.POST.get("mapping_replace"):
        values = {"columns": columns, "mapping": json.loads(_text(kept))}
        survey_mapping_edit(row=known, expected=known.version, values=values, stamp=stamp)
    else:
        survey_mapping_add(name=name, columns=columns, mapping_text=_text(kept), stamp=stamp)
    messages.success(request, f"The matches are kept as {name}; they are offered for the next file with these columns.")


@require_POST
@page
def file_replace(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    """A mended file in place of this one, or another of its layers. The matches stay where its columns allow."""
    page_opens_to(actor, DESK, WHAT)
    row = survey_file_get(file_id)
    form = FileForm(request.POST, request.FILES)
    layer = request.POST.get("layer", "")
    if not layer and not form.is_valid():
        messages.error(request, "No file came with this. Choose one, and send it again.")
        return redirect("survey-file", file_id=file_id)
    data, name = (bytes(row.file_bytes), row.file_name) if layer else _of(form)
    looked = survey_file_look(data, name, layer=layer)
    suggested = suggest_document(looked.found, known_codes())
    survey_file_replace(survey_file=row, looked=looked, suggested=suggested, stamp=_stamp(actor))
    gone = sorted(_columns_gone(row, looked.found))
    if layer or gone or row.matched_at is None:
        if gone:
            messages.warning(request, f"The new file has no column {', '.join(gone)}. Match what took its place.")
        return redirect("survey-file", file_id=file_id)
    survey_file_try(survey_file=row, stamp=_stamp(actor))
    return redirect("survey-file-look", file_id=file_id)


@require_POST
@page
def file_layer(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    """Go on with another layer of a file that is kept: a file on its way of its own, with the same matches where they
    fit."""
    page_opens_to(actor, DESK, WHAT)
    row, layer = survey_file_get(file_id), request.POST.get("layer", "")
    there = next((state for state in layer_states(row) if state.name == layer), None)
    if there is not None and there.file is not None:
        messages.info(request, f"The layer {layer} is on its way already.")
        return redirect("survey-file", file_id=there.file.public_id)
    known = known_codes()
    looked = survey_file_look(survey_file_bytes(row), row.file_name, layer=layer)
    carried = carried_document(row.mapping, looked.found, known) if row.mapping and row.matched_at else None
    added = survey_file_add(
        looked=looked, mapping=carried or suggest_document(looked.found, known), stamp=_stamp(actor)
    )
    if carried:
        words = f"The matches of the layer {row.layer} are filled in."
    else:
        words = f"Its columns are not those of the layer {row.layer}, so that the matches are suggested anew."
    messages.success(request, f"This is the layer {layer} of the same file. {words}")
    return redirect("survey-file", file_id=added.public_id)


def _of(form: FileForm) -> tuple[bytes, str]:
    given = form.cleaned_data["file"]
    return given.read(), given.name


def _columns_gone(row: SurveyFile, found: Found) -> set[str]:
    columns = (row.mapping or {}).get("columns", {})
    used = {str(source_of(given).get("column", "")) for given in columns.values()} - {""}
    return used - set(found.fields)


@require_POST
@page
def file_try(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    survey_file_try(survey_file=survey_file_get(file_id), stamp=_stamp(actor))
    return redirect("survey-file-look", file_id=file_id)


@require_POST
@page
def file_take(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row, keep = survey_file_get(file_id), bool(request.POST.get("keep_good_rows"))
    try:
        taken = survey_file_take(survey_file=row, keep_good_rows=keep, stamp=_stamp(actor))
    except Refusal as refused:
        messages.error(request, " ".join([refused.detail, *(error.message for error in refused.errors)]))
        return redirect("survey-file-look", file_id=file_id)
    return redirect("survey-import", import_id=taken.public_id)


@require_POST
@page
def file_drop(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = survey_file_get(file_id)
    survey_file_drop(survey_file=row, stamp=_stamp(actor))
    messages.success(request, f"{row.file_name} is dropped; nothing of it was taken.")
    return redirect("survey-files")


@require_safe
@page
def file_mapping(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    """The matches as the terminal and the API take them."""
    page_opens_to(actor, DESK, WHAT)
    reply = JsonResponse(survey_file_get(file_id).mapping or {}, json_dumps_params={"indent": 1, "ensure_ascii": False})
    reply.headers["Content-Disposition"] = 'attachment; filename="mapping.json"'
    return reply
