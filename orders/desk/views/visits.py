"""One visit: why it stands there, what it serves and its order; moving it by hand, and what a move breaks."""

from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders import flow
from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import Change, User
from orders.common.stamp import Stamp
from orders.crews.models import Crew
from orders.crews.selectors import crew_get
from orders.desk.dispatch.undoing import undo_keep, undo_offered, where_it_is
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.planning.models import Visit
from orders.planning.moving import Break
from orders.planning.selectors import visits

WHAT = "The page of a visit"
MOVABLE = ("planned", "ordered")
MOST_CHANGES = 20


def visit_named(visit_id: UUID) -> Visit:
    rows = visits().select_related("order_visit__order", "plan_run", "season")
    found = rows.filter(public_id=visit_id).first()
    if found is None:
        raise NotFound("There is no such visit.")
    return found


def visit_told(visit: Visit) -> dict[str, Any]:
    shares = list(visit.shares.all())
    return {
        "visit": visit,
        "season": visit.season,
        "here": "board",
        "order": visit.order_visit.order if hasattr(visit, "order_visit") else None,
        "shares": shares,
        "hours": sum(share.planned_hours for share in shares),
    }


def _may_move(actor: User, visit: Visit) -> bool:
    return actor.has_role(*DESK) and visit.state in MOVABLE


@require_safe
@page
def visit_page(request: HttpRequest, actor: User, visit_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    visit = visit_named(visit_id)
    changes = Change.objects.filter(entity="visit", entity_id=visit.public_id).select_related("actor").order_by("-id")
    told = {
        **visit_told(visit),
        "may_move": _may_move(actor, visit),
        "undo": undo_offered(request, visit.season),
        "changes": [(change, change.verb.replace("_", " ")) for change in changes[:MOST_CHANGES]],
    }
    return render(request, "desk/visit.html", told)


class MoveForm(forms.Form):
    """Where a visit should go."""

    day = forms.DateField(label="Day", widget=forms.DateInput(attrs={"type": "date"}))
    keep = forms.BooleanField(required=False, label="Keep it here: a new plan leaves it where it is")
    reason = forms.CharField(required=False, max_length=200, strip=True)

    def __init__(self, *args: Any, crews: list[Crew], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = [(str(crew.public_id), crew.name) for crew in crews]
        self.fields["crew"] = forms.ChoiceField(choices=listed, label="Crew")
        self.order_fields(["crew", "day", "keep"])

    @property
    def where(self) -> list[forms.BoundField]:
        """What says where it should go; the reason is asked for only when something breaks."""
        return [self[name] for name in ("crew", "day", "keep")]

    def target(self) -> tuple[Crew, date]:
        return crew_get(UUID(self.cleaned_data["crew"])), self.cleaned_data["day"]


@require_http_methods(["GET", "HEAD", "POST"])
@page
def visit_move_page(request: HttpRequest, actor: User, visit_id: UUID) -> HttpResponse:
    """GET says what a move would break and stores nothing; POST moves."""
    page_opens_to(actor, DESK, "Moving a visit")
    visit = visit_named(visit_id)
    sent = request.POST if request.method == "POST" else request.GET
    form = MoveForm(sent if "day" in sent else None, crews=_crews(visit), initial=_stands(visit))
    refusal: Refusal | None = None
    if request.method == "POST" and form.is_valid():
        refusal = _move(request, visit, form, actor)
        if refusal is None:
            messages.success(request, _done(visit, form))
            return redirect("visit", visit_id=visit_id)
    breaks, unasked = _breaks(visit, form)
    refusal = refusal or unasked
    told = {
        **visit_told(visit),
        "form": form,
        "refusal": refusal,
        "breaks": breaks,
        "is_asked": form.is_bound and form.is_valid() and unasked is None,
        "moves": form.is_bound and form.is_valid() and _moves(visit, form),
        "refused": any(one.is_hard for one in breaks),
        "may_move": _may_move(actor, visit),
    }
    status = refusal.status if refusal else 400 if form.is_bound and not form.is_valid() else 200
    return render(request, "desk/visit_move.html", told, status=status)


def _crews(visit: Visit) -> list[Crew]:
    """Active crews, and the one that has it now."""
    return list((Crew.objects.filter(is_active=True) | Crew.objects.filter(pk=visit.crew_id)).order_by("name"))


def _stands(visit: Visit) -> dict[str, Any]:
    return {"crew": str(visit.crew.public_id), "day": visit.day, "keep": visit.is_kept}


def _moves(visit: Visit, form: MoveForm) -> bool:
    return form.target() != (visit.crew, visit.day)


def _done(visit: Visit, form: MoveForm) -> str:
    crew, day = form.target()
    if _moves(visit, form):
        return f"The visit is moved to {date_format(day, 'D, M j, Y')}, {crew}."
    return (
        "The visit stays where it is; new plans leave it there."
        if form.cleaned_data["keep"]
        else ("The visit stays where it is; new plans may move it.")
    )


def _breaks(visit: Visit, form: MoveForm) -> tuple[tuple[Break, ...], Refusal | None]:
    """What the move asked for breaks, or why it cannot be asked for at all."""
    if not (form.is_bound and form.is_valid() and visit.state in MOVABLE):
        return (), None
    crew, day = form.target()
    try:
        return flow.move_preview(visit=visit, crew=crew, day=day), None
    except Refusal as refused:
        return (), refused


def _move(request: HttpRequest, visit: Visit, form: MoveForm, actor: User) -> Refusal | None:
    crew, day = form.target()
    stamp = Stamp(by=actor, at=now(), reason=form.cleaned_data["reason"])
    was = where_it_is(visit)
    try:
        flow.move_visit(
            visit=visit_named(visit.public_id), crew=crew, day=day, keep=form.cleaned_data["keep"], stamp=stamp
        )
    except Refusal as refused:
        return refused
    if _moves(visit, form):
        undo_keep(
            request, "moved", visit, f"{visit.site.name} is moved to {date_format(day, 'D, M j')}, {crew}.", **was
        )
    return None


@require_POST
@page
def visit_freed(request: HttpRequest, actor: User, visit_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Moving a visit")
    flow.put_visit_free(visit=visit_named(visit_id), stamp=Stamp(by=actor, at=now()))
    messages.success(request, "New plans may move the visit again.")
    return redirect("visit", visit_id=visit_id)
