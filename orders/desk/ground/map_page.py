"""The page of the map: measure, filters, legend, and a list of what is shown, which does it all without scripts."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.columns import Sortable, headings
from orders.desk.ground.map_forms import DATA_FIELDS, MapForm, MapQuestion, WantedForm
from orders.desk.ground.map_marks import EDITED, marked
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.planning.preview import MOST_PATCHES
from orders.reports.ground.measures import MEASURES
from orders.reports.ground.picture import GroundPicture, Legend, ShownPatch, ground_picture
from orders.sites.models import Patch

ROWS_A_PAGE = 50
WHAT = "The map"


@dataclass(frozen=True)
class Chip:
    """A measure, with the address that colors by it."""

    code: str
    words: str
    address: str
    is_here: bool


@dataclass(frozen=True)
class ListRow:
    """A row of the list: the patch as the map shows it, its public id, whether it is marked."""

    shown: ShownPatch
    kind: Legend
    patch_id: str
    is_marked: bool


def picture_of(request: HttpRequest, question: MapQuestion, actor: User) -> GroundPicture:
    return ground_picture(question=question.ground, by=question.by, on=today_of(actor), only=question.only)


@require_safe
@page
def map_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    form = MapForm(request.GET, today=today_of(actor))
    question = form.question()
    found = picture_of(request, question, actor)
    shown = _sorted(found.shown, question.sort)
    rows = Paginator(shown, ROWS_A_PAGE).get_page(question.page)
    marks = marked(request)
    told: dict[str, Any] = {
        "form": form,
        "question": question,
        "picture": found,
        "chips": _chips(form, question),
        "data_address": f"{reverse('map-data')}?{form.said()}",
        "back": request.GET.urlencode(),
        "rows": rows,
        "listed": _listed(rows, found, marks),
        "headings": _headings(found, question, request.GET),
        "marks": " ".join(map(str, sorted(marks))),
        "marked_count": len(marks),
        "most": MOST_PATCHES,
        "may_edit": actor.has_role(*DESK),
        "wanted": WantedForm(auto_id="wanted_%s"),
        "edited": request.session.get(EDITED),
        "box": _box(found.asked),
        "tiles": settings.MAP_TILE_URL,
    }
    return render(request, "desk/ground/map.html", told)


def _sorted(shown: Sequence[ShownPatch], sort: str) -> list[ShownPatch]:
    """By site and code as they come, or by the figure; those without one last, whichever way it goes."""
    if sort in ("patch", "-patch"):
        return list(shown)[:: -1 if sort.startswith("-") else 1]
    figures = [one for one in shown if one.value is not None]
    figures.sort(key=lambda one: one.value or 0, reverse=sort.startswith("-"))
    return figures + [one for one in shown if one.value is None]


def _listed(rows: Page[ShownPatch], found: GroundPicture, marks: set[int]) -> list[ListRow]:
    ids = dict(Patch.objects.filter(pk__in=[one.row.n for one in rows]).values_list("pk", "public_id"))
    return [ListRow(one, found.legend[one.at], str(ids[one.row.n]), one.row.n in marks) for one in rows]


def _headings(found: GroundPicture, question: MapQuestion, said: QueryDict) -> Any:
    columns = {"patch": Sortable("Patch", "patch"), "value": Sortable(found.measure.words, "value", is_number=True)}
    return headings(columns, question.sort, said)


def _chips(form: MapForm, question: MapQuestion) -> list[Chip]:
    names = tuple(DATA_FIELDS)
    return [
        Chip(code, one.words, f"?{form.said(names, by=code)}", code == question.by) for code, one in MEASURES.items()
    ]


def _box(shown: Sequence[ShownPatch]) -> list[float] | None:
    """What the map opens on."""
    if not shown:
        return None
    boxes = [one.row.box for one in shown]
    west, south = min(box[0] for box in boxes), min(box[1] for box in boxes)
    return [west, south, max(box[2] for box in boxes), max(box[3] for box in boxes)]
