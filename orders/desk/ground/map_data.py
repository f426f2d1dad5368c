"""What the map's script reads: columns, outlines, sites, and the card of one patch. A reader who has it is told so."""

import hashlib
import json
from collections.abc import Callable
from functools import wraps
from typing import Any

import shapely
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.http import parse_etags
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from orders.common.errors import FieldError, Invalid, NotFound, Refusal
from orders.common.kept import changes_version
from orders.common.models import User
from orders.desk.ground.map_forms import MapForm
from orders.desk.ground.map_page import WHAT, picture_of
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.reports.ground.columns import picture_columns
from orders.reports.ground.outlines import LEAST_ZOOM, MOST_ZOOM, OutlineQuestion, ground_outlines
from orders.sites.geofiles import areas
from orders.sites.models import Patch, Site
from orders.workorders.selectors import orders_of

Answer = Callable[[HttpRequest, User], dict[str, Any]]
SITE_DEGREES = 0.0001  # a site's outline is drawn as a line beside its patches: ten meters are enough
ORDERS_SHOWN = 5


def data(make: Answer) -> Callable[[HttpRequest], HttpResponse]:
    """JSON for the map's own script, in a browser's own keeping: it asks each time whether it still stands."""

    @gzip_page
    @require_safe
    @wraps(make)
    def shown(request: HttpRequest) -> HttpResponse:
        actor = request.user
        if not isinstance(actor, User):
            return HttpResponse(status=401)
        try:
            page_opens_to(actor, OFFICE, WHAT)
            return _told(request, actor, make)
        except Refusal as refusal:
            body = {"detail": refusal.detail, "errors": [error.as_dict() for error in refusal.errors]}
            return JsonResponse(body, status=refusal.status)

    return shown


def _told(request: HttpRequest, actor: User, make: Answer) -> HttpResponse:
    version = changes_version()
    content = "|".join([version, today_of(actor).isoformat(), request.get_full_path()])
    tag = f'W/"{hashlib.sha256(content.encode()).hexdigest()[:24]}"'
    if version and tag in parse_etags(request.headers.get("If-None-Match", "")):
        response = HttpResponse(status=304)
    else:
        response = HttpResponse(_compact(make(request, actor)), content_type="application/json")
    if version:
        response["ETag"] = tag
    response["Cache-Control"] = "private, no-cache"
    return response


def _compact(body: dict[str, Any]) -> str:
    return json.dumps(body, separators=(",", ":"))


@data
def map_patches(request: HttpRequest, actor: User) -> dict[str, Any]:
    """The patches of the page's question, those of classes that are switched off among them."""
    form = MapForm(request.GET, today=today_of(actor))
    return picture_columns(picture_of(request, form.question(), actor), by_id=False)


@data
def map_outlines(request: HttpRequest, actor: User) -> dict[str, Any]:
    return ground_outlines(_outline_question(request), by_id=False)


def _outline_question(request: HttpRequest) -> OutlineQuestion:
    try:
        west, south, east, north = (float(part) for part in request.GET.get("box", "").split(","))
        zoom = int(request.GET.get("zoom", ""))
    except ValueError as error:
        raise Invalid("The outlines cannot be asked for that way.", [FieldError("box", "cannot be read")]) from error
    right = -180 <= west < east <= 180 and -85 <= south < north <= 85 and LEAST_ZOOM <= zoom <= MOST_ZOOM
    if not right:
        raise Invalid("The outlines cannot be asked for that way.", [FieldError("box", "is no box of degrees")])
    return OutlineQuestion(west, south, east, north, zoom)


@data
def map_sites(request: HttpRequest, actor: User) -> dict[str, Any]:
    """Simplified outlines of all sites, as GeoJSON."""
    rows = Site.objects.order_by("code").values_list("code", "name", "boundary")
    return {"type": "FeatureCollection", "features": [_feature(*row) for row in rows]}


def _feature(code: str, name: str, boundary: dict[str, Any]) -> dict[str, Any]:
    outline = areas.from_geojson(json.dumps(boundary))
    simple = shapely.simplify(outline, SITE_DEGREES)
    geometry = json.loads(shapely.to_geojson(shapely.set_precision(simple, 1e-5)))
    return {"type": "Feature", "properties": {"code": code, "name": name}, "geometry": geometry}


@require_safe
@page
def map_card(request: HttpRequest, actor: User) -> HttpResponse:
    """One patch as a piece of the page: its facts, its deadline, its orders, and where to go on."""
    page_opens_to(actor, OFFICE, WHAT)
    form = MapForm(request.GET, today=today_of(actor))
    question = form.question()
    found = picture_of(request, question, actor)
    number = request.GET.get("n", "")
    one = next((shown for shown in found.asked if str(shown.row.n) == number), None)
    if one is None:
        raise NotFound("The map shows no such patch.")
    season = question.ground.season
    orders = orders_of(actor, on=today_of(actor)).filter(order_visits__visit__shares__prescription__patch=one.row.n)
    told = {
        "row": one.row,
        "told": one.told,
        "measure": found.measure,
        "patch_id": _patch_id(one.row.n),
        "orders": orders.filter(season=season).distinct()[:ORDERS_SHOWN] if season else [],
        "season": season,
        "names": form.method_names,
        "may_edit": actor.has_role(*DESK),
    }
    return render(request, "desk/ground/map_card.html", told)


def _patch_id(number: int) -> Any:
    return Patch.objects.values_list("public_id", flat=True).get(pk=number)
