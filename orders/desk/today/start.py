"""The start page: what needs the reader today, and how far the season is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.desk.chart_svg import Chart
from orders.desk.charts_today import stage_bars
from orders.desk.forms import asked
from orders.desk.navigation import EVERY_ROLE, OFFICE
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.planning.models import Season
from orders.planning.selectors import season_get, seasons
from orders.reports.today import Line, Reader, Shown, Waiting, cards_found
from orders.reports.today.season_state import STAGES, SeasonState, season_state


@dataclass(frozen=True)
class Row:
    words: str
    about: str
    address: str


@dataclass(frozen=True)
class Block:
    """A card as the page shows it: a sentence, the first of those that wait, and where all of them are."""

    code: str
    words: str
    rows: Sequence[Row]
    address: str
    more: int


class SeasonForm(forms.Form):
    """Which season; the one that holds the day, or the next, where none is asked for."""

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seasons = list(seasons())
        self.usual = season_usual(self.seasons, today)
        listed = [(str(row.public_id), row.name) for row in self.seasons]
        self.fields["season"] = forms.ChoiceField(choices=listed, required=False, label="Season")
        if self.usual:
            self.fields["season"].initial = str(self.usual.public_id)

    def chosen(self) -> Season | None:
        told = asked(self)["season"]
        return season_get(UUID(told)) if told else self.usual


def season_usual(rows: Sequence[Season], today: date) -> Season | None:
    """The season of the day, else the next one, else the last."""
    coming = sorted((row for row in rows if row.last_day >= today), key=lambda row: row.first_day)
    return coming[0] if coming else max(rows, key=lambda row: row.last_day, default=None)


@require_safe
@page
def start_page(request: HttpRequest, actor: User) -> HttpResponse:
    if not actor.has_role(*EVERY_ROLE):
        return redirect("api:docs")
    today = today_of(actor)
    form = SeasonForm(request.GET, today=today)
    season = form.chosen()
    found = cards_found(Reader(actor, now(), today, season))
    state = season_state(season) if season and actor.has_role(*OFFICE) else None
    told = {
        "today": today,
        "blocks": [_block(shown, shown.waiting) for shown in found if shown.waiting],
        "nothing": [shown.card.words(0) for shown in found if shown.waiting is None and shown.card.many],
        "season": season,
        "seasons": form.seasons,
        "state": state,
        "chart": _chart(state) if state and state.methods else None,
        "stages": _stages(state) if state else [],
    }
    return render(request, "desk/today/start.html", told)


def _block(shown: Shown, waiting: Waiting) -> Block:
    rows = [_row(line) for line in waiting.lines]
    address = _address(waiting.page, waiting.keys, waiting.query)
    return Block(shown.card.code, shown.words, rows, address, waiting.count - len(rows))


def _row(line: Line) -> Row:
    return Row(line.words, line.about, _address(line.page, (line.key,) if line.key else (), {}))


def _address(page_name: str, keys: Sequence[UUID], query: Mapping[str, str]) -> str:
    if not page_name:
        return ""
    address = reverse(page_name, args=keys)
    return f"{address}?{urlencode(query)}" if query else address


def _chart(state: SeasonState) -> Chart:
    rows = [(row.method, row.hours) for row in state.methods]
    return stage_bars(f"{state.season.name}: work by what has become of it", _names(), rows, "h")


def _names() -> list[str]:
    return [words for _, words in STAGES]


def _stages(state: SeasonState) -> list[tuple[str, int, float]]:
    return [(words, state.pieces[place], state.hours[place]) for place, words in enumerate(_names())]
