"""Help: a guide for each role, the words, the keys, and whom to ask."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.guide.guides import GUIDES, guide_get, guides_of
from orders.desk.guide.opening import opens_to, roles_said
from orders.desk.guide.parts import Link, Picture, Step
from orders.desk.guide.pictures import Taken, pictures_taken
from orders.desk.guide.words import KEYS, WORDS
from orders.desk.today.start import season_usual
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.planning.models import Season
from orders.planning.selectors import seasons


@dataclass(frozen=True)
class Way:
    """A link of a step; without an address where no season is there yet, or where the page opens to other roles, which
    are then named."""

    words: str
    address: str
    only_for: str = ""


@dataclass(frozen=True)
class Told:
    """A step as its page shows it."""

    step: Step
    ways: Sequence[Way]
    picture: Picture | None
    taken: Taken | None


@require_safe
@page
def help_page(request: HttpRequest, actor: User) -> HttpResponse:
    told = {"own": guides_of(actor), "guides": GUIDES, "words": WORDS, "places": KEYS}
    return render(request, "desk/guide/help.html", told)


@require_safe
@page
def guide_page(request: HttpRequest, actor: User, code: str) -> HttpResponse:
    guide = guide_get(code)
    season = season_usual(list(seasons()), today_of(actor))
    told = {
        "guide": guide,
        "guides": GUIDES,
        "is_own": actor.has_role(guide.role),
        "steps": [step_told(step, season, actor) for step in guide.steps],
    }
    return render(request, "desk/guide/guide.html", told)


def step_told(step: Step, season: Season | None, actor: User) -> Told:
    taken = pictures_taken().get(step.picture.name) if step.picture else None
    return Told(step, [_way(link, season, actor) for link in step.links], step.picture, taken)


def _way(link: Link, season: Season | None, actor: User) -> Way:
    roles = opens_to(link)
    if not actor.has_role(*roles):
        return Way(link.words, "", roles_said(roles))
    if not link.of_season:
        return Way(link.words, reverse(link.name))
    return Way(link.words, reverse(link.name, args=[season.public_id]) if season else "")
