"""What a choice would do, patch by patch and for the season, before it is made."""

from collections import Counter
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders import flow
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.season.bars import filling_bars
from orders.desk.season.draft import Draft, draft_keep, draft_of
from orders.desk.season.forms import PrescribeForm
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.estimates.selectors import method_names
from orders.planning.filling import NO_WORK
from orders.planning.preview import ChoiceAsk, Preview
from orders.planning.selectors import patches_keyed, season_get

ROWS_A_PAGE = 50
CHOOSING = "Choosing methods"


@require_http_methods(["GET", "HEAD", "POST"])
@page
def review_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """GET shows what confirming would do; POST does it as it was shown, as one choice that can be put back."""
    page_opens_to(actor, DESK, CHOOSING)
    sent = QueryDict(request.POST.get("address", "")) if request.method == "POST" else request.GET
    season, today = season_get(season_id), today_of(actor)
    form = PrescribeForm(sent, season=season, today=today)
    form.question()
    draft = draft_of(request, season, form.cleaned_data["selection"], form.crew_kind)
    ask = _ask(draft, request.POST.get("why", ""))
    refusal: Refusal | None = None
    if request.method == "POST" and ask.patches:
        try:
            batch = flow.choose_methods(
                ask=ask, on=today, fingerprint=request.POST.get("fingerprint", ""), stamp=Stamp(by=actor, at=now())
            )
        except Refusal as refused:
            refusal = refused
        else:
            draft.picks.clear()
            draft_keep(request, draft)
            messages.success(request, "The choice is made. It can be put back until something of it is ordered.")
            return redirect("choice", batch_id=batch.public_id)
    told = _reviewed(request, flow.preview_choices(ask=ask, on=today), refusal)
    told |= {"season": season, "here": "prescribe", "address": form.address()}
    return render(request, "desk/season/review.html", told, status=refusal.status if refusal else 200)


def _ask(draft: Draft, why: str) -> ChoiceAsk:
    return draft.ask(patches_keyed(draft.picks), why.strip())


def _reviewed(request: HttpRequest, preview: Preview, refusal: Refusal | None) -> dict[str, Any]:
    errors = refusal.errors if refusal else []
    return {
        **preview_told(request, preview),
        "refusal": refusal,
        "why_errors": [error.message for error in errors if error.field == "why"],
        "asks_why": any(row.needs_why for row in preview.acting),
    }


def preview_told(request: HttpRequest, preview: Preview) -> dict[str, Any]:
    """A page of its rows, and what it comes to."""
    return {
        "preview": preview,
        "rows": Paginator(preview.rows, ROWS_A_PAGE).get_page(request.GET.get("page", "1")),
        "counts": {name: len(getattr(preview, name)) for name in ("new", "clearing", "standing", "refused")},
        "methods": methods_counted(Counter(row.code for row in preview.acting)),
        "filled": preview.filled,
        "bars": filling_bars(preview.filled),
    }


def methods_counted(counts: Mapping[str, int]) -> list[tuple[str, int]]:
    """How many patches each method would be chosen on, in the methods' own order."""
    names = method_names() | {NO_WORK: "Nothing in place of what is chosen"}
    return [(name, counts[code]) for code, name in names.items() if counts.get(code)]
