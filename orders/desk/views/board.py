"""A season's board: crews by days with their visits, and what has no visit yet."""

from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.errors import NotFound
from orders.common.models import User
from orders.desk.dispatch.board_rows import Board, BoardForm
from orders.desk.dispatch.undoing import undo_offered
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.issuing import visits_unordered
from orders.planning.models import Season
from orders.planning.selectors import season_get, season_near

ROWS_A_PAGE = 25
WHAT = "The board of a season"


@require_safe
@page
def board_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    return _board(request, actor, season_get(season_id))


@require_safe
@page
def board_now(request: HttpRequest, actor: User) -> HttpResponse:
    """The board of the season that today lies in, or of the one nearest to it."""
    page_opens_to(actor, OFFICE, WHAT)
    try:
        season = season_near(today_of(actor))
    except NotFound:
        return render(request, "desk/dispatch/board_none.html")
    return _board(request, actor, season)


def _board(request: HttpRequest, actor: User, season: Season) -> HttpResponse:
    board = Board(season, BoardForm(request.GET), today_of(actor))
    told = {
        "season": season,
        "here": "board",
        "board": board,
        "unplanned": Paginator(board.unplanned(), ROWS_A_PAGE).get_page(request.GET.get("page", "1")),
        "unordered": visits_unordered(season).count(),
        "may_move": actor.has_role(*DESK),
        "undo": undo_offered(request, season),
        "stands": request.GET.urlencode(),
    }
    return render(request, "desk/board.html", told)
