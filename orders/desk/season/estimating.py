"""Estimating every patch from the desk, in the background."""

from datetime import date

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.kept import changes_version, kept
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.estimates.models import RateBook
from orders.estimates.selectors import estimate_runs, rate_books_holding, surveys_unestimated
from orders.estimates.services import estimates_ask
from orders.sites.selectors import surveys_current

MOST_SHOWN = 10


class EstimateForm(forms.Form):
    crew_kind = forms.ChoiceField(choices=RateBook.CREW_KINDS, initial="staff", label="Worked by")


@require_http_methods(["GET", "HEAD", "POST"])
@page
def estimates_make_page(request: HttpRequest, actor: User) -> HttpResponse:
    """GET says what has no estimate yet; POST has all patches estimated and leads to how far that is."""
    page_opens_to(actor, DESK, "Estimating patches")
    form = EstimateForm(request.POST or None)
    refusal = None
    if form.is_bound and form.is_valid():
        kind = form.cleaned_data["crew_kind"]
        try:
            run = estimates_ask(on=today_of(actor), crew_kind=kind, stamp=Stamp(by=actor, at=now()))
        except Refusal as refused:
            refusal = refused
        else:
            return redirect("run-progress", run_id=run.public_id)
    status = refusal.status if refusal else 400 if form.is_bound else 200
    return render(request, "desk/season/estimate.html", _told(actor, form, refusal), status=status)


def _told(actor: User, form: EstimateForm, refusal: Refusal | None) -> dict[str, object]:
    today = today_of(actor)
    books = rate_books_holding(today)
    counts = kept(f"unestimated/{today}", changes_version(), lambda: _unestimated(today))
    kinds = [(words, books.get(kind), counts[kind]) for kind, words in RateBook.CREW_KINDS]
    return {
        "form": form,
        "refusal": refusal,
        "surveys": counts["all"],
        "kinds": kinds,
        "runs": estimate_runs()[:MOST_SHOWN],
        "may_make": bool(books),
    }


def _unestimated(today: date) -> dict[str, int]:
    """How many patches there are, and how many have no estimate for each kind of crew."""
    surveys = surveys_current()
    kinds = {kind: surveys_unestimated(surveys, kind, today).count() for kind, _ in RateBook.CREW_KINDS}
    return {"all": surveys.count(), **kinds}
