"""Splitting a patch and merging several: drawn or chosen, looked at, then done; and taking either back."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST
from shapely.geometry.base import BaseGeometry

from orders.common.errors import Refusal
from orders.common.models import User
from orders.desk.ground.drawing import features, ground_of
from orders.desk.ground.surveying import form_page, stamp_of
from orders.desk.ground.surveying_forms import PASTED
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.patch_shape import Shape, patch_shape
from orders.desk.selection import selection_of
from orders.desk.views.pages import page
from orders.planning.selectors import patches_named
from orders.sites.cutting import NOT_CUT, cut_by_line, cut_by_outlines
from orders.sites.geofiles.areas import bounds, geodesic_area_m2
from orders.sites.models import Patch, Survey
from orders.sites.selectors import patch_get, sites, species_all, surveys_current
from orders.sites.services import Piece, Succession
from orders.sites.services.succession import NOT_JOINED, code_for_merged, codes_for_pieces, newest_of
from orders.sites.sharing import Made, put_together, shape_of
from orders.workorders.succeeding import merge_patches, split_patch, undo_succession, work_resting

WAYS = {"line": "Cut along a line", "outlines": "Outline the pieces"}
CODE = "code-"


class CutForm(forms.Form):
    cut = forms.CharField(required=False, label="Line", widget=forms.Textarea(attrs=PASTED))


@dataclass(frozen=True)
class Shown:
    """A piece as it would be, with the code that is proposed or was typed."""

    number: int
    code: str
    area_m2: float
    share: float
    shape: Shape | None


@form_page
@page
def split_page(request: HttpRequest, actor: User, patch_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Splitting patches")
    patch = patch_get(patch_id)
    survey = newest_of([patch], NOT_CUT)[0]
    way = request.GET.get("by", "line")
    form = CutForm(request.POST or None)
    form.fields["cut"].label = "Line" if way == "line" else "Outlines of the pieces"
    told: dict[str, Any] = {"patch": patch, "survey": survey, "way": way, "ways": WAYS, "form": form}
    pieces, refusal = [], None
    if request.method == "POST":
        try:
            pieces = _cut(survey, way, request.POST.get("cut", ""))
            if request.POST.get("step") == "split":
                made = _split(patch, pieces, request, actor)
                return _done(request, made, f"{patch} is split into {_names(made.after)}.")
        except Refusal as refused:
            refusal = refused
    told |= {"resting": work_resting([patch]), "refusal": refusal, "ground": _around(survey)}
    told["pieces"] = _shown(patch, pieces, request)
    return render(request, "desk/ground/split.html", told, status=refusal.status if refusal else 200)


def _cut(survey: Survey, way: str, text: str) -> list[BaseGeometry]:
    ground = shape_of(survey)
    return cut_by_outlines(ground, text) if way == "outlines" else cut_by_line(ground, text)


def _split(patch: Patch, pieces: Sequence[BaseGeometry], request: HttpRequest, actor: User) -> Succession:
    named = [Piece(request.POST.get(f"{CODE}{number}", ""), piece) for number, piece in enumerate(pieces)]
    return split_patch(patch=patch, pieces=named, stamp=stamp_of(actor, request.POST.get("reason", "").strip()))


def _shown(patch: Patch, pieces: Sequence[BaseGeometry], request: HttpRequest) -> list[Shown]:
    codes = codes_for_pieces(patch, len(pieces))
    whole = sum(geodesic_area_m2(piece) for piece in pieces)
    return [
        Shown(
            number,
            request.POST.get(f"{CODE}{number}", codes[number]),
            geodesic_area_m2(piece),
            geodesic_area_m2(piece) / whole,
            patch_shape(piece.__geo_interface__, f"Piece {number + 1}, north up"),
        )
        for number, piece in enumerate(pieces)
    ]


def _around(survey: Survey) -> dict[str, Any]:
    """The patch alone, as large as the map: neighbors would only distract."""
    box = bounds(shape_of(survey))
    told = ground_of(survey.patch.site, besides=survey.patch)
    return {**told, "box": [box.west, box.south, box.east, box.north], "around": features([survey.geometry])}


@form_page
@page
def merge_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, "Merging patches")
    patches = _chosen(request)
    if len(patches) < 2:
        return _choosing(request, patches)
    code = request.POST.get("code", code_for_merged(patches)).strip()
    told: dict[str, Any] = {"patches": patches, "code": code, "name": request.POST.get("name", "")}
    refusal = None
    try:
        if request.method == "POST":
            made = _merge(patches, code, request, actor)
            return _done(request, made, f"{_names(made.before)} are merged into {_names(made.after)}.")
        told["made"] = _together(patches, code)
    except Refusal as refused:
        refusal = refused
    told |= {
        "resting": work_resting(patches),
        "refusal": refusal,
        "surveys": surveys_current().filter(patch__in=patches),
    }
    return render(request, "desk/ground/merge.html", told, status=refusal.status if refusal else 200)


def _chosen(request: HttpRequest) -> list[Patch]:
    if key := request.GET.get("selection"):
        return selection_of(request, key)
    named = request.POST.getlist("patch") or request.GET.getlist("patch")
    ids = [found for text in named if (found := _id(text)) is not None]
    return patches_named(ids)


def _id(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _choosing(request: HttpRequest, patches: Sequence[Patch]) -> HttpResponse:
    """The patches of a site to choose from; of one that was named its own site."""
    code = patches[0].site.code if patches else request.GET.get("site", "")
    rows = surveys_current().filter(patch__site__code=code).defer("geometry", "patch__site__boundary")
    told = {
        "surveys": rows,
        "site_code": code,
        "marked": {patch.pk for patch in patches},
        "sites": sites().defer("boundary"),
    }
    return render(request, "desk/ground/merge_choose.html", told)


def _together(patches: Sequence[Patch], code: str) -> dict[str, Any]:
    """The figures of the patch that would be."""
    made: Made = put_together(newest_of(patches, NOT_JOINED), code, "")
    shape = patch_shape(made.row.geometry.__geo_interface__, "The patches joined, north up")
    names = dict(species_all().values_list("code", "common_name"))
    return {"row": made.row, "shape": shape, "components": list(made.row.components), "names": names}


def _merge(patches: Sequence[Patch], code: str, request: HttpRequest, actor: User) -> Succession:
    stamp = stamp_of(actor, request.POST.get("reason", "").strip())
    return merge_patches(patches=patches, code=code, name=request.POST.get("name", ""), stamp=stamp)


@require_POST
@page
def undo(request: HttpRequest, actor: User, event: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Taking back a split or merge")
    made = undo_succession(event=event, stamp=stamp_of(actor, request.POST.get("reason", "").strip()))
    messages.success(
        request, f"Taken back: {_names(made.before)} as before. What had been asked for there is asked for anew."
    )
    return redirect("patch", made.before[0].public_id)


def _done(request: HttpRequest, made: Succession, words: str) -> HttpResponse:
    messages.success(request, f"{words} Estimates and choices are made anew.")
    return redirect("patch", made.after[0].public_id)


def _names(patches: Sequence[Patch]) -> str:
    return ", ".join(patch.code for patch in patches)
