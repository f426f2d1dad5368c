"""When each method may be used on each patch within a season, and why."""

from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders import flow
from orders.common.models import User
from orders.desk.cautions import DECIDES
from orders.desk.list_file import list_file
from orders.desk.navigation import OFFICE, page_opens_to
from orders.desk.views.estimates import Column
from orders.desk.views.pages import page
from orders.desk.window_list import (
    CSV_HEADINGS,
    FILTERS,
    HEADINGS,
    NUMBERS,
    WindowListForm,
    address,
    is_narrowed,
    sorted_by,
    windows_told,
)
from orders.planning.selectors import season_get
from orders.planning.window_list import WindowQuestion

ROWS_A_PAGE = 50
WHAT = "The windows of a season"


@require_safe
@page
def windows_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    season = season_get(season_id)
    form = WindowListForm(request.GET)
    question = form.question()
    found = flow.windows_asked(question=question, season=season)
    told = {
        "season": season,
        "here": "windows",
        "question": question,
        "address": address(question),
        "is_narrowed": is_narrowed(question),
        "asked_fields": [form[name] for name in FILTERS],
        "headings": [_column(question, name) for name in HEADINGS],
        "rows": Paginator(found, ROWS_A_PAGE).get_page(form.cleaned_data["page"] or 1),
        "decides": DECIDES,
    }
    return render(request, "desk/season_windows.html", told)


def _column(question: WindowQuestion, name: str) -> Column:
    direction = "descending" if question.sort.startswith("-") else "ascending"
    is_sorted = question.sort.removeprefix("-") == name
    turned = address(sorted_by(question, name))
    return Column(HEADINGS[name], turned, direction if is_sorted else "", name in NUMBERS)


@require_safe
@page
def windows_file(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """All rows that the page of the same address shows, whatever page of them."""
    page_opens_to(actor, OFFICE, WHAT)
    season = season_get(season_id)
    found = flow.windows_asked(question=WindowListForm(request.GET).question(), season=season)
    return list_file("windows", CSV_HEADINGS, windows_told(season, found))
