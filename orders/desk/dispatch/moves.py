"""What is done on the board: a visit moved, work put on a day, a visit taken off; told before it, undone after it."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders import flow
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.crews.models import Crew
from orders.crews.selectors import crew_get
from orders.desk.dispatch.undoing import undo, undo_keep, where_it_is
from orders.desk.forms import asked
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.templatetags.desk import days_said
from orders.desk.views.pages import page, tried
from orders.desk.views.visits import MoveForm, visit_named, visit_told
from orders.issuing import orders_draft, orders_draft_missing, visits_unordered
from orders.moving import visit_add_breaks, visit_add_by_hand, visit_take_off
from orders.planning.models import Prescription, Season, Visit
from orders.planning.moving import Break
from orders.planning.selectors import prescription_get, season_get

WHAT = "Changing the board"
NOT_KEPT = "A visit that is put on a day by hand stays there when plans are made again."


class DropForm(forms.Form):
    """A visit, or work that is asked for, let go over a crew's day. `back`: what the board shows."""

    visit = forms.UUIDField(required=False)
    work = forms.UUIDField(required=False)
    crew = forms.UUIDField()
    day = forms.DateField()
    reason = forms.CharField(required=False, max_length=200, strip=True)
    back = forms.CharField(required=False, max_length=400)

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if bool(told.get("visit")) == bool(told.get("work")):
            raise forms.ValidationError("names one visit, or one piece of work")
        return told


@dataclass(frozen=True)
class Drop:
    """What a form names, looked up."""

    visit: Visit | None
    work: Prescription | None
    crew: Crew
    day: date

    @classmethod
    def of(cls, told: dict[str, Any]) -> "Drop":
        visit = visit_named(told["visit"]) if told["visit"] else None
        work = prescription_get(told["work"]) if told["work"] else None
        return cls(visit, work, crew_get(told["crew"]), told["day"])

    @property
    def place(self) -> str:
        return f"{self.crew}, {date_format(self.day, 'D, M j')}"

    def breaks(self) -> tuple[Break, ...]:
        if self.visit is not None:
            return flow.move_preview(visit=self.visit, crew=self.crew, day=self.day)
        assert self.work is not None  # the form names one of them
        return visit_add_breaks(prescription=self.work, crew=self.crew, day=self.day).breaks

    def write(self, request: HttpRequest, stamp: Stamp) -> Visit:
        """Keeps in the session how it is undone."""
        if self.visit is not None:
            was = where_it_is(self.visit)
            made = flow.move_visit(visit=self.visit, crew=self.crew, day=self.day, keep=True, stamp=stamp)
            undo_keep(request, "moved", made, f"{made.site.name} is moved to {self.place}.", **was)
        else:
            assert self.work is not None  # the form names one of them
            made = visit_add_by_hand(prescription=self.work, crew=self.crew, day=self.day, stamp=stamp)
            undo_keep(request, "added", made, f"{self.work} is put on {self.place}.")
        return made


@require_safe
@page
def drop_preview(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """What letting go there would break, for the board's script; stores nothing."""
    page_opens_to(actor, DESK, WHAT)
    drop = Drop.of(asked(DropForm(request.GET)))
    try:
        found = drop.breaks()
    except Refusal as refused:
        found = (Break("refused", refused.detail, True),)
    told = [{"kind": one.kind, "words": days_said(one.words), "is_hard": one.is_hard} for one in found]
    return JsonResponse({"place": drop.place, "breaks": told})


@require_POST
@page
def dropped(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    told = asked(DropForm(request.POST))
    drop, stamp = Drop.of(told), Stamp(by=actor, at=now(), reason=told["reason"])
    made: list[Visit] = []
    refusal = tried(lambda: made.append(drop.write(request, stamp)))
    if refusal is not None:
        return _place_shown(request, drop, refusal)
    return redirect(_board(season_id, told["back"], made[0]))


def _board(season_id: UUID, stands: str, visit: Visit | None = None) -> str:
    """The board as it was shown; the fragment is the card that was let go."""
    card = f"#visit-{visit.public_id}" if visit is not None and visit.state != "dropped" else ""
    return f"{reverse('season-board', args=[season_id])}?{stands}{card}"


@require_POST
@page
def undone(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    visit = undo(request, season_get(season_id), stamp=Stamp(by=actor, at=now()))
    visit.refresh_from_db()
    messages.success(request, "Undone.")
    return redirect(_board(season_id, request.POST.get("back", "")[:400], visit))


@require_http_methods(["GET", "HEAD", "POST"])
@page
def work_place_page(request: HttpRequest, actor: User, work_id: UUID) -> HttpResponse:
    """The same by a form, without scripts: GET says what it would break, POST puts it there."""
    page_opens_to(actor, DESK, WHAT)
    work = prescription_get(work_id)
    sent = request.POST if request.method == "POST" else request.GET
    form = MoveForm(sent if "day" in sent else None, crews=list(Crew.objects.filter(is_active=True).order_by("name")))
    del form.fields["keep"]
    refusal, breaks = None, None
    if form.is_bound and form.is_valid():
        crew, day = form.target()
        drop = Drop(None, work, crew, day)
        if request.method == "POST":
            stamp = Stamp(by=actor, at=now(), reason=form.cleaned_data["reason"])
            made: list[Visit] = []
            refusal = tried(lambda: made.append(drop.write(request, stamp)))
            if refusal is None:
                return redirect(_board(work.season.public_id, f"week={day.isoformat()}", made[0]))
        breaks, unasked = _breaks(drop)
        refusal = refusal or unasked
    return _placing(request, work, form, refusal, breaks)


def _breaks(drop: Drop) -> tuple[tuple[Break, ...] | None, Refusal | None]:
    try:
        return drop.breaks(), None
    except Refusal as refused:
        return None, refused


def _placing(
    request: HttpRequest, work: Prescription, form: MoveForm, refusal: Refusal | None, breaks: Any
) -> HttpResponse:
    told = {
        "work": work,
        "season": work.season,
        "form": form,
        "where": [form["crew"], form["day"]],
        "refusal": refusal,
        "breaks": breaks or (),
        "is_asked": breaks is not None,
        "refused": any(one.is_hard for one in breaks or ()),
        "about": NOT_KEPT,
    }
    status = refusal.status if refusal else 400 if form.is_bound and not form.is_valid() else 200
    return render(request, "desk/dispatch/work_place.html", told, status=status)


def _place_shown(request: HttpRequest, drop: Drop, refusal: Refusal) -> HttpResponse:
    """A drop that was refused, on the page that says the same without a script."""
    target = {"crew": str(drop.crew.public_id), "day": drop.day.isoformat(), "keep": "on"}
    if drop.visit is None:
        assert drop.work is not None  # the form names one of them
        form = MoveForm(target, crews=list(Crew.objects.filter(is_active=True).order_by("name")))
        del form.fields["keep"]
        form.is_valid()
        return _placing(request, drop.work, form, refusal, _breaks(drop)[0])
    messages.error(request, refusal.detail)
    query = "&".join(f"{name}={value}" for name, value in target.items())
    return redirect(f"{reverse('visit-move', args=[drop.visit.public_id])}?{query}")


class OffForm(forms.Form):
    reason = forms.CharField(max_length=200, required=False, label="Why it comes off")


@require_http_methods(["GET", "HEAD", "POST"])
@page
def visit_off_page(request: HttpRequest, actor: User, visit_id: UUID) -> HttpResponse:
    """A visit off its day; one on an order says why."""
    page_opens_to(actor, DESK, WHAT)
    visit, refusal = visit_named(visit_id), None
    form = OffForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        stamp = Stamp(by=actor, at=now(), reason=form.cleaned_data["reason"])
        refusal = tried(lambda: visit_take_off(visit=visit_named(visit_id), stamp=stamp))
        if refusal is None:
            undo_keep(request, "taken", visit, f"{visit.site.name} is taken off {visit.crew}, {visit.day}.")
            return redirect(_board(visit.season.public_id, f"week={visit.day.isoformat()}"))
    told = {**visit_told(visit), "form": form, "refusal": refusal}
    status = refusal.status if refusal else 400 if form.is_bound and not form.is_valid() else 200
    return render(request, "desk/dispatch/visit_off.html", told, status=status)


@require_POST
@page
def orders_drafted(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """Orders for the planned visits that have none: all of a season, or the ones named."""
    page_opens_to(actor, DESK, "Drafting orders")
    season, stamp = season_get(season_id), Stamp(by=actor, at=now())
    named = request.POST.getlist("visit")
    made = (
        orders_draft(visits=_of(season, named), stamp=stamp)
        if named
        else orders_draft_missing(season=season, stamp=stamp)
    )
    numbers = ", ".join(str(order.number) for order in made)
    messages.success(request, f"{len(made)} drafted: {numbers}. Issue them from here, once nothing keeps them.")
    return redirect(f"{reverse('orders')}?state=draft&season={season.public_id}")


def _of(season: Season, named: list[str]) -> list[Visit]:
    wanted = set(named)
    return [visit for visit in visits_unordered(season) if str(visit.public_id) in wanted]
