"""Methods side by side for many patches: picked, seen beside what there is, confirmed as one choice."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from orders import flow
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.season.bars import filling_bars
from orders.desk.season.draft import Draft, draft_keep, draft_of
from orders.desk.season.forms import PrescribeForm
from orders.desk.season.table import PatchCells, patch_cells, unfit_methods
from orders.desk.selection import selection_named, selection_of
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.estimates.selectors import methods, rate_books_holding
from orders.planning.doable import Doable
from orders.planning.filling import Filling, picks_filling
from orders.planning.models import Season
from orders.planning.overview import PatchLine
from orders.planning.preview import MOST_PATCHES, RECOMMENDED, STAND_IN, ChoiceAsk, ChoiceRow
from orders.planning.selectors import patches_keyed, season_get, seasons

PATCHES_A_PAGE = 25
ROWS_A_PAGE = 50
WHAT = "The page of methods for a season"
CHOOSING = "Choosing methods"
PICK = "pick-"
AS_IT_IS = ""  # what the radio of a patch says when nothing is picked there


@dataclass(frozen=True)
class Asking:
    """What one address of the page asks for."""

    season: Season
    form: PrescribeForm
    draft: Draft
    find: Callable[[], Sequence[int]]

    @cached_property
    def keys(self) -> Sequence[int]:
        """Of the patches that are marked, or of all that answer, in their order."""
        return self.find()

    @property
    def selection(self) -> str:
        return str(self.form.cleaned_data["selection"])


def _asking(request: HttpRequest, actor: User, season_id: UUID, said: QueryDict) -> Asking:
    season, today = season_get(season_id), today_of(actor)
    form = PrescribeForm(said, season=season, today=today)
    question = form.question().patches
    selection = form.cleaned_data["selection"]

    def found() -> Sequence[int]:
        if selection:
            return [patch.pk for patch in selection_of(request, selection)]
        return flow.patches_asked(question=question, season=season, on=today).keys

    return Asking(season, form, draft_of(request, season, selection, form.crew_kind), found)


@require_safe
@page
def prescribe_now(request: HttpRequest, actor: User) -> HttpResponse:
    """The page of the season that is worked now, or is next."""
    page_opens_to(actor, OFFICE, WHAT)
    season = _season_now(actor)
    if season is None:
        return render(request, "desk/season/no_season.html", {"may_choose": actor.has_role(*DESK)})
    return redirect("prescribe", season_id=season.public_id)


def _season_now(actor: User) -> Season | None:
    current = [row for row in seasons() if row.last_day >= today_of(actor)]
    return current[-1] if current else seasons().first()


@require_POST
@page
def selection_taken(request: HttpRequest, actor: User) -> HttpResponse:
    """Marked patches, from a list or a map; with a method it is picked for them and shown at once. A field may hold
    many ids with commas between, since a form has only so many fields."""
    page_opens_to(actor, DESK, CHOOSING)
    marked = [key for text in request.POST.getlist("patch") for key in text.split(",")]
    key = selection_named(request, marked)
    named = request.POST.get("season", "")
    said = QueryDict(mutable=True)
    said.update({"selection": key, "crew": request.POST.get("crew", "")})
    season_id = _id(named) if named else _season_id_now(actor)
    asking = _asking(request, actor, season_id, said)
    method = request.POST.get("method", "")
    if method:
        _pick(request, actor, asking, dict.fromkeys(asking.keys, method))
    name = "prescribe-review" if method else "prescribe"
    return HttpResponseRedirect(_address(name, asking))


def _season_id_now(actor: User) -> UUID:
    season = _season_now(actor)
    if season is None:
        raise Invalid("There is no season to choose for yet.", [FieldError("season", "add a season first")])
    return season.public_id


def _id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise Invalid("The season cannot be read.", [FieldError("season", "is no id")]) from error


def _address(name: str, asking: Asking, **more: str) -> str:
    said = "&".join(filter(None, [asking.form.address(), urlencode({k: v for k, v in more.items() if v})]))
    return f"{reverse(name, args=[asking.season.public_id])}{'?' if said else ''}{said}"


@require_safe
@page
def prescribe_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    asking = _asking(request, actor, season_id, request.GET)
    rows = Paginator(asking.keys, PATCHES_A_PAGE).get_page(request.GET.get("page", "1"))
    found = _found(actor, asking, list(rows))
    columns, cells = patch_cells(found, asking.draft)
    form = asking.form
    told = {
        **_filled(asking.draft),
        "season": asking.season,
        "here": "prescribe",
        "form": form,
        "asked_fields": [form[n] for n in ("text", "site", "recommended", "form", "control_state", "chosen", "crew")],
        "selection": asking.selection,
        "address": form.address(),
        "rows": rows,
        "columns": columns,
        "cells": cells,
        "unfit": unfit_methods(found),
        "unestimated": _unestimated(actor, cells, asking.draft.crew_kind),
        "hindered": _hindered(asking.season, found),
        "stand_in": STAND_IN,
        "draft": asking.draft,
        "may_choose": actor.has_role(*DESK),
    }
    return render(request, "desk/season/prescribe.html", told)


def _unestimated(actor: User, cells: list[PatchCells], crew_kind: str) -> int:
    """How many of the patches shown have no figures by the rate book that holds today."""
    book = rate_books_holding(today_of(actor)).get(crew_kind)
    return sum(not one.is_estimated(book.pk if book else None) for one in cells)


def _hindered(season: Season, found: list[tuple[PatchLine, list[ChoiceRow]]]) -> list[tuple[str, int]]:
    """Why something that is recommended on the patches shown cannot be done by anybody, and on how many of them; where
    a person chose something else, nothing hinders."""
    doable = Doable(season, {row.code: row for row in methods()})
    told: Counter[str] = Counter()
    for line in (line for line, _ in found if not any(row.is_own_choice for row in line.chosen)):
        told.update({why for code in line.recommended if (why := doable.why_not(code, line.patch.site))})
    return told.most_common()


def _found(actor: User, asking: Asking, keys: list[int]) -> list[tuple[PatchLine, list[ChoiceRow]]]:
    """In the order of the keys."""
    draft = asking.draft
    shown = {patch.pk: patch for patch in patches_keyed(keys)}
    ask = ChoiceAsk(
        season=asking.season,
        method=RECOMMENDED,
        patches=[shown[key] for key in keys],
        replace=not draft.keep,
        crew_kind=draft.crew_kind,
    )
    return flow.methods_by_patch(ask=ask, on=today_of(actor))


def _filled(draft: Draft) -> dict[str, Any]:
    filled: Filling = picks_filling(draft.season, draft.picks, replace=not draft.keep)
    return {"filled": filled, "bars": filling_bars(filled), "picked": len(draft.picks)}


@require_POST
@page
def picked(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """Takes what is picked on the page that is shown, or for all its patches at once. Nothing is stored."""
    page_opens_to(actor, DESK, CHOOSING)
    asking = _asking(request, actor, season_id, QueryDict(request.POST.get("address", "")))
    refused = _taken(request, actor, asking)
    if request.headers.get("HX-Request"):
        told = {**_filled(asking.draft), "season": asking.season, "refused": refused, "address": asking.form.address()}
        return render(request, "desk/season/filling.html", told)
    for row in refused[:5]:
        messages.info(request, f"{row.line.patch}: {row.refused}")
    name = "prescribe-review" if "review" in request.POST else "prescribe"
    more = {} if name == "prescribe-review" else {"page": request.POST.get("page", "")}
    return HttpResponseRedirect(_address(name, asking, **more))


def _taken(request: HttpRequest, actor: User, asking: Asking) -> list[ChoiceRow]:
    draft, sent = asking.draft, request.POST
    if "clear" in sent:
        draft.picks.clear()
        draft_keep(request, draft)
        return []
    everywhere = sent.get("everywhere", "")
    if everywhere and len(asking.keys) > MOST_PATCHES:
        error = FieldError("everywhere", f"is for at most {MOST_PATCHES:,} patches at once: narrow the list")
        raise Invalid("Too many patches are being chosen for.", [error])
    asked = dict.fromkeys(asking.keys, everywhere) if everywhere else _changed(draft, sent)
    turned = draft.keep != ("keep" in sent)
    draft.keep = "keep" in sent
    if turned:  # the rest is judged anew: what else is chosen there counts otherwise now
        asked = {key: pick.choice for key, pick in draft.picks.items()} | asked
    refused = _pick(request, actor, asking, asked, passes_over=bool(everywhere))
    # A patch that a whole column does not fit is simply passed over.
    return [] if everywhere else refused


def _changed(draft: Draft, sent: QueryDict) -> dict[int, str]:
    """The radios of the page that say something else than is kept."""
    kept = {key: pick.choice for key, pick in draft.picks.items()}
    said = {name.removeprefix(PICK): str(sent[name]) for name in sent if name.startswith(PICK)}
    shown = {int(key): choice for key, choice in said.items() if key.isdecimal()}
    return {key: choice for key, choice in shown.items() if choice != kept.get(key, AS_IT_IS)}


def _pick(
    request: HttpRequest, actor: User, asking: Asking, asked: Mapping[int, str], *, passes_over: bool = False
) -> list[ChoiceRow]:
    """Judge and keep; what is left as it is leaves the draft."""
    draft = asking.draft
    for key, choice in asked.items():
        if choice == AS_IT_IS:
            draft.picks.pop(key, None)
    wanted = {key: choice for key, choice in asked.items() if choice != AS_IT_IS}
    refused: list[ChoiceRow] = []
    if wanted:
        ask = ChoiceAsk.of_picks(
            draft.season,
            {patch: wanted[patch.pk] for patch in patches_keyed(wanted)},
            replace=not draft.keep,
            crew_kind=draft.crew_kind,
        )
        refused = draft.take(wanted, flow.judge_choices(ask=ask, on=today_of(actor)), passes_over=passes_over)
    draft_keep(request, draft)
    return refused
