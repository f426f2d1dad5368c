"""Sites as they are set up: where, under whose rules, how far, and their boundary."""

import json
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.urls import reverse
from django.views.decorators.http import require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.desk.navigation import DESK, OFFICE, Link, page_opens_to
from orders.desk.setup.kit import (
    Cell,
    Column,
    Cut,
    EditPage,
    Listing,
    edit_done,
    edit_shown,
    form_page,
    list_shown,
    stamped,
)
from orders.desk.setup.places_forms import SiteForm
from orders.desk.views.pages import page
from orders.desk.views.sites import PLAN
from orders.sites.boundary_files import boundary_of_file
from orders.sites.models import Site
from orders.sites.selectors import jurisdictions_offered, questions_open, site_get, sites
from orders.sites.services import site_add, site_edit
from orders.sites.setting_up import patches_outside

WHAT = "Setting places up"
PURPOSE = (
    "Land that the program looks after as one place. Patches lie at a site, crews drive to it, its jurisdiction says "
    "whose rules hold, and its emergency plan goes with every order. The boundary is what maps are drawn on and what "
    "surveys are checked against."
)
MOST_NAMED = 12


def places_chips(here: str) -> list[Link]:
    named = (
        ("Sites", "setup-sites"),
        ("Jurisdictions", "setup-jurisdictions"),
        ("Checklist", "setup-questions"),
        ("Growth forms", "setup-growth-forms"),
    )
    return [Link(words, reverse(name), name == here) for words, name in named]


@require_safe
@page
def places_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    stamp = stamped(actor)
    zones = Site.objects.values_list("pk", "time_zone")
    still_open = questions_open({key: stamp.local_date(zone) for key, zone in zones})
    columns = {
        "name": Column("Site", "name", cell=lambda row: Cell(row.name, _address(row), row.code)),
        "jurisdiction": Column("Jurisdiction", "jurisdiction__name", cell=lambda row: row.jurisdiction.name),
        "drive": Column("Drive, min", "drive_minutes", True, cell=lambda row: str(row.drive_minutes)),
        "zone": Column("Time zone", "time_zone", cell=lambda row: row.time_zone.replace("_", " ")),
        "plan": Column("Emergency plan", cell=_plan_cell),
        "open": Column("Checklist", cell=lambda row: _open_cell(still_open, row)),
    }
    listing = Listing(
        title="Places",
        about="Sites with what they need before work is ordered there. Calendars, closures and weather stand on each "
        "site's own page.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("name", "code", "jurisdiction__name"),
        cuts=(Cut("plan", "Emergency plan", [("", "All"), ("gaps", "With gaps")], _with_gaps),),
        new=reverse("setup-site-new") if actor.has_role(*DESK) else "",
        new_words="Add a site",
        chips=places_chips("setup-sites"),
    )
    return list_shown(request, listing, sites().defer("boundary"))


def _address(row: Site) -> str:
    return reverse("setup-site", args=[row.public_id])


def _with_gaps(rows: QuerySet[Site], value: str) -> QuerySet[Site]:
    missing = Q(meeting_lat=None)
    for name in PLAN:
        missing |= Q() if name == "meeting_lat" else Q(**{name: ""})
    return rows.filter(missing) if value == "gaps" else rows


def _plan_cell(row: Site) -> Cell:
    gaps = sum(getattr(row, name) in ("", None) for name in PLAN)
    return Cell(f"{gaps} missing", state="bad") if gaps else Cell("noted", state="good")


def _open_cell(still_open: Mapping[int, int], row: Site) -> Cell:
    count = still_open.get(row.pk, 0)
    return Cell(f"{count} open", state="wait") if count else Cell("settled", state="good")


@form_page
@page
def site_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    words = _words("A new site", "Add the site")
    if request.method != "POST":
        return edit_shown(request, words, SiteForm(initial=_usual_of_a_site()))
    try:
        typed = _with_file(request)
    except Refusal as refusal:
        return edit_shown(request, words, SiteForm(request.POST), refusal)
    if "look" in request.POST:
        return edit_shown(request, words, SiteForm(initial=typed.dict()))
    form = SiteForm(typed)

    def write() -> str:
        site = site_add(**form.values(), stamp=stamped(actor))
        return f"{site.name} is added. Note its emergency plan and answer its checklist before work is ordered there."

    return edit_done(request, words, form, write)


def _usual_of_a_site() -> dict[str, str]:
    """The program's own time zone; and the jurisdiction where there is but one."""
    only = list(jurisdictions_offered()[:2])
    return {"time_zone": settings.PROGRAM_TIME_ZONE, "jurisdiction": only[0].code if len(only) == 1 else ""}


@form_page
@page
def site_page(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE if request.method in ("GET", "HEAD") else DESK, WHAT)
    site = site_get(site_id)
    words = _words(site.name, "Save", site, may_edit=actor.has_role(*DESK))
    if request.method != "POST":
        return edit_shown(request, words, SiteForm.of(site) if actor.has_role(*DESK) else None)
    try:
        typed = _with_file(request)
    except Refusal as refusal:
        return edit_shown(request, words, SiteForm(request.POST, site=site), refusal)
    if "look" in request.POST:
        return edit_shown(request, words, SiteForm(initial=typed.dict(), site=site))
    form = SiteForm(typed, site=site)

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        site_edit(site=site, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{site.name} is saved. {_outside_words(site)}".strip()

    return edit_done(request, words, form, write)


def _with_file(request: HttpRequest) -> QueryDict:
    """What was typed; where a file was handed in, its outline stands in the field of the boundary."""
    told, held = request.POST.copy(), request.FILES.get("file")
    if held is not None:
        told["boundary"] = json.dumps(boundary_of_file(held.read(), str(held.name)))
    return told


def _words(title: str, button: str, site: Site | None = None, may_edit: bool = True) -> EditPage:
    told = [_outside_words(site)] if site is not None else []
    more: dict[str, Any] = {"site": site, "tiles": settings.MAP_TILE_URL, "box": _program_box(), "may_edit": may_edit}
    notices = [words for words in told if words]
    if site is None and not jurisdictions_offered().exists():
        notices.append("There is no jurisdiction yet. Add one first: a site lies in one.")
    return EditPage(
        title=title,
        button=button,
        back=reverse("setup-sites"),
        back_words="Places",
        purpose=PURPOSE,
        row=site if may_edit else None,
        notices=notices,
        chips=places_chips("setup-sites"),
        after=_address(site) if site is not None else "",
        below="desk/setup/place_more.html" if site is not None else "",
        modules="desk/parts/draw_files.html",
        more=more,
        template="desk/setup/place_site.html",
    )


def _program_box() -> list[float] | None:
    """Around all sites, so that a new one is drawn near them."""
    boxes = list(Site.objects.values_list("min_lon", "min_lat", "max_lon", "max_lat"))
    if not boxes:
        return None
    west, south, east, north = zip(*boxes, strict=True)
    return [min(west), min(south), max(east), max(north)]


def _outside_words(site: Site) -> str:
    """What of the patches a boundary leaves out."""
    found = patches_outside(site)
    if not found:
        return ""
    named = ", ".join(patch.code for patch, _ in found[:MOST_NAMED])
    more = f" and {len(found) - MOST_NAMED:,} more" if len(found) > MOST_NAMED else ""
    whole = sum(is_whole for _, is_whole in found)
    said = f"{len(found):,} of its patches lie outside of the boundary in part or whole ({whole:,} in whole)"
    return f"{said}: {named}{more}. Mend the boundary or their outlines."
