"""The search over everything: a page of all that was found, and the short list under the field in the head."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.navigation import ENTRIES, EVERY_ROLE, MONEY, MONEY_GROUPS, page_opens_to
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.reports.search import KINDS, Found, searched

MOST_OF_A_KIND = 8
MOST_OF_ONE_KIND = 100
MOST_SUGGESTED = 3
LEAST_CHARACTERS = 2


@dataclass(frozen=True)
class Line:
    words: str
    about: str
    address: str


@dataclass(frozen=True)
class Part:
    """What one kind has, as the page lists it; `code` asks for more of it, and is empty where that is all."""

    words: str
    lines: Sequence[Line]
    code: str = ""


@require_safe
@page
def search_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, "The search")
    question = request.GET.get("q", "").strip()
    asked = request.GET.get("kind", "")
    kind = asked if asked in {each.code for each in KINDS} else ""
    most = MOST_OF_ONE_KIND if kind else MOST_OF_A_KIND
    parts = _parts(actor, question, most, kind)
    return render(request, "desk/today/search.html", {"question": question, "parts": parts, "kind": kind})


@require_safe
@page
def search_suggested(request: HttpRequest, actor: User) -> HttpResponse:
    """A piece of a page: the best few of each kind."""
    page_opens_to(actor, EVERY_ROLE, "The search")
    question = request.GET.get("q", "").strip()
    parts = _parts(actor, question, MOST_SUGGESTED) if len(question) >= LEAST_CHARACTERS else []
    return render(request, "desk/today/search_suggested.html", {"question": question, "parts": parts})


def _parts(actor: User, question: str, most: int, kind: str = "") -> list[Part]:
    found = searched(actor=actor, question=question, on=today_of(actor), most=most, kind=kind)
    pages = [] if kind else _pages(actor, question)[:most]
    return [*([Part("Pages", pages)] if pages else []), *(_part(each) for each in found)]


def _part(found: Found) -> Part:
    lines = [Line(hit.words, hit.about, reverse(found.kind.page, args=[hit.key])) for hit in found.hits]
    return Part(found.kind.words, lines, found.kind.code if found.more else "")


def _pages(actor: User, question: str) -> list[Line]:
    """Pages of the head by their own words, those that begin with the question first."""
    asked = question.casefold()
    named = [(entry.words, entry.name) for entry in ENTRIES if actor.has_role(*entry.roles)]
    if actor.has_role(*MONEY):
        named += [page for group in MONEY_GROUPS for page in group.pages]
    held = [(words, name) for words, name in named if asked and asked in words.casefold()]
    held.sort(key=lambda each: not each[0].casefold().startswith(asked))
    return [Line(words, "page", reverse(name)) for words, name in held]
