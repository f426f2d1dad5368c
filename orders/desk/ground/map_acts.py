"""What is done with the patches that are marked on the map."""

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from orders.common.clock import now
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.ground.map_forms import MapForm, WantedForm
from orders.desk.ground.map_marks import EDITED, marked_patches, marks_keep, marks_sent
from orders.desk.ground.map_page import WHAT, picture_of
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.selection import selection_keep
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.sites.models import CONTROL_STATES
from orders.sites.services import PatchesEdited, patches_edit, patches_edit_undo

Act = Callable[[HttpRequest, User, set[int]], HttpResponse]


@require_POST
@page
def map_marks(request: HttpRequest, actor: User) -> HttpResponse:
    """The page's script keeps what is marked, so that it outlives the page."""
    page_opens_to(actor, OFFICE, WHAT)
    marks_keep(request, marks_sent(request))
    return HttpResponse(status=204)


@require_POST
@page
def map_act(request: HttpRequest, actor: User) -> HttpResponse:
    """The marks are kept first, so that a refusal loses none of them."""
    page_opens_to(actor, OFFICE, WHAT)
    act = ACTS.get(request.POST.get("act", ""))
    if act is None:
        raise Invalid(
            "Say what to do with the marked patches.", [FieldError("act", f"must be one of {', '.join(ACTS)}")]
        )
    marks = marks_sent(request)
    marks_keep(request, marks)
    return act(request, actor, marks)


@require_POST
@page
def map_undo(request: HttpRequest, actor: User, edit_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    count = patches_edit_undo(edit_id=edit_id, stamp=Stamp(by=actor, at=now()))
    request.session.pop(EDITED, None)
    messages.success(request, f"Put back on {_patches(count)}.")
    return _back(request)


def _back(request: HttpRequest) -> HttpResponse:
    """To the map as it was asked; the query is read and written anew, so that it leads nowhere else."""
    query = QueryDict(request.POST.get("back", "")).urlencode()
    return redirect(f"{reverse('map')}?{query}" if query else reverse("map"))


def _keep(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    messages.success(request, f"Kept: {_patches(len(marks))} marked.")
    return _back(request)


def _all(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    form = MapForm(QueryDict(request.POST.get("back", "")), today=today_of(actor))
    shown = {one.row.n for one in picture_of(request, form.question(), actor).shown}
    marks_keep(request, marks | shown)
    messages.success(request, f"Marked all that are shown: {_patches(len(marks | shown))} marked.")
    return _back(request)


def _clear(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    marks_keep(request, ())
    messages.success(request, "No patch is marked any more.")
    return _back(request)


def _methods(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    page_opens_to(actor, DESK, "Choosing methods")
    season = MapForm(QueryDict(request.POST.get("back", "")), today=today_of(actor)).question().ground.season
    if season is None:
        raise Invalid("There is no season to choose for yet.", [FieldError("season", "add a season first")])
    return _with_selection(request, marks, reverse("prescribe", args=[season.public_id]))


def _merge(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    page_opens_to(actor, DESK, "Merging patches")
    return _with_selection(request, marks, reverse("patch-merge"))


def _export(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    return _with_selection(request, marks, reverse("survey-export"))


def _with_selection(request: HttpRequest, marks: set[int], address: str) -> HttpResponse:
    key = selection_keep(request, marked_patches(marks))
    return redirect(f"{address}?{urlencode({'selection': key})}")


def _edit(request: HttpRequest, actor: User, marks: set[int]) -> HttpResponse:
    page_opens_to(actor, DESK, "Changing what is wanted of patches")
    form = WantedForm(request.POST)
    values = form.values()
    patches = marked_patches(marks)
    stamp = Stamp(by=actor, at=now(), reason=form.cleaned_data["reason"])
    done = patches_edit(stamp=stamp, patches=patches, **values)
    request.session[EDITED] = {"id": str(done.public_id), "words": _words(done)}
    return _back(request)


def _words(done: PatchesEdited) -> str:
    said = []
    if "control_state" in done.values:
        said.append(f"control state {dict(CONTROL_STATES)[done.values['control_state']].lower()}")
    if "target_cover" in done.values:
        said.append(f"target cover {100 * done.values['target_cover']:.0f}%")
    already = f" {done.unchanged} had this already." if done.unchanged else ""
    return f"{_patches(done.count)} changed: {', '.join(said)}.{already}"


def _patches(count: int) -> str:
    return f"{count:,} patch{'' if count == 1 else 'es'}"


ACTS: dict[str, Act] = {
    "keep": _keep,
    "all": _all,
    "clear": _clear,
    "methods": _methods,
    "merge": _merge,
    "export": _export,
    "edit": _edit,
}
