"""Availability: who is there on which day of a month, and days off added by form or by marking them."""

import calendar
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.crews.models import Absence, CrewMembership
from orders.crews.selectors import absence_get, absences, crew_get, crews_all, person_get, stays
from orders.crews.services import absence_add, absence_edit, absence_remove
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.setup.kit import Act, EditPage, act_done, edit_done, edit_shown, form_page, stamped
from orders.desk.setup.people import people_chips, today_of
from orders.desk.setup.people_forms import AbsenceForm
from orders.desk.views.pages import page

WHAT = "Availability"
PURPOSE = (
    "Days on which a person or a whole crew does not work: leave, holidays, training. The plan sends no crew on a day "
    "that is all off, and counts fewer people where some are away. What is planned already is not moved by it: the "
    "season's board shows it, and planning again moves it."
)
FIRST_YEAR, LAST_YEAR = 1990, 2199


@dataclass(frozen=True)
class Cell:
    """A day of a person: `off` by the crew's weekdays, `away` with its reason, or there."""

    day: date
    state: str
    words: str
    absence: Absence | None = None


@dataclass(frozen=True)
class Line:
    who: str  # "person ID" or "crew ID", as the form names them
    name: str
    quiet: str
    cells: list[Cell]
    is_crew: bool = False


@dataclass(frozen=True)
class Month:
    first: date
    last: date
    before: str
    after: str

    @property
    def days(self) -> list[date]:
        return [self.first + timedelta(days=number) for number in range((self.last - self.first).days + 1)]


def month_asked(text: str, today: date) -> Month:
    """The month that an address names as 2027-03, or today's where it names none."""
    year, _, number = text.partition("-")
    wanted = (int(year), int(number)) if year.isdecimal() and number.isdecimal() and len(text) == 7 else (0, 0)
    known = FIRST_YEAR <= wanted[0] <= LAST_YEAR and 1 <= wanted[1] <= 12
    first = date(*wanted, 1) if known else today.replace(day=1)
    last = first.replace(day=calendar.monthrange(first.year, first.month)[1])
    before, after = first - timedelta(days=1), last + timedelta(days=1)
    return Month(first, last, f"{before:%Y-%m}", f"{after:%Y-%m}")


@require_safe
@page
def absences_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today = today_of(actor)
    month = month_asked(request.GET.get("month", ""), today)
    away = list(absences().filter(first_day__lte=month.last, last_day__gte=month.first))
    told = {
        "month": month,
        "lines": _lines(month, away),
        "away": away,
        "today": today,
        "may_edit": actor.has_role(*DESK),
        "form": AbsenceForm(initial={"first_day": max(month.first, today)}) if actor.has_role(*DESK) else None,
        "chips": people_chips("setup-absences"),
        "purpose": PURPOSE,
    }
    return render(request, "desk/setup/absences.html", told)


def _lines(month: Month, away: Sequence[Absence]) -> list[Line]:
    """Each crew with its people under it."""
    held = list(stays(month.first, month.last).order_by("-is_lead", "person__name", "first_day"))
    lines = []
    for crew in crews_all():
        mine = [stay for stay in held if stay.crew_id == crew.pk]
        if crew.is_active:
            people = _people_lines(month, mine, away)
            lines += [_crew_line(month, crew, people, away), *people]
    return lines


def _crew_line(month: Month, crew: Any, people: Sequence[Line], away: Iterable[Absence]) -> Line:
    own = [one for one in away if one.crew_id == crew.pk]
    cells = []
    for number, day in enumerate(month.days):
        there = sum(line.cells[number].state == "there" for line in people)
        found = _covering(own, day)
        if crew.works_weekdays[day.weekday()] == "0":
            cells.append(Cell(day, "off", "does not work on this weekday"))
        elif found:
            cells.append(Cell(day, "away", found.why, found))
        else:
            cells.append(Cell(day, "count" if there else "none", str(there)))
    return Line(f"crew {crew.public_id}", crew.name, "whole crew: how many are there", cells, is_crew=True)


def _people_lines(month: Month, mine: Sequence[CrewMembership], away: Sequence[Absence]) -> list[Line]:
    """A person who was twice on the crew in the month stands there once."""
    by_person: dict[int, list[CrewMembership]] = {}
    for stay in mine:
        by_person.setdefault(stay.person_id, []).append(stay)
    lines = []
    for held in by_person.values():
        cells = [_cell(day, held, away) for day in month.days]
        quiet = "leads" if any(stay.is_lead for stay in held) else ""
        lines.append(Line(f"person {held[0].person.public_id}", held[0].person.name, quiet, cells))
    return lines


def _cell(day: date, held: Sequence[CrewMembership], away: Iterable[Absence]) -> Cell:
    stay = next((one for one in held if one.first_day <= day <= (one.last_day or day)), None)
    if stay is None:
        return Cell(day, "not", "not on the crew")
    if stay.crew.works_weekdays[day.weekday()] == "0":
        return Cell(day, "off", "the crew does not work on this weekday")
    found = _covering([one for one in away if one.person_id == stay.person_id or one.crew_id == stay.crew_id], day)
    return Cell(day, "away", found.why, found) if found else Cell(day, "there", "there")


def _covering(rows: Iterable[Absence], day: date) -> Absence | None:
    return next((one for one in rows if one.first_day <= day <= one.last_day), None)


def _month_address(day: date) -> str:
    return f"{reverse('setup-absences')}?month={day:%Y-%m}"


@form_page
@page
def absence_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = AbsenceForm(request.POST or None)
    first = form.cleaned_data.get("first_day") if form.is_bound and form.is_valid() else None

    def write() -> str:
        told = form.cleaned_data
        kind, _, named = told["who"].partition(" ")
        who = {"crew": crew_get(UUID(named))} if kind == "crew" else {"person": person_get(UUID(named))}
        days = {name: told[name] for name in ("first_day", "last_day", "why")}
        row = absence_add(**who, **days, stamp=stamped(actor))
        return f"{row.person or row.crew} is off from {row.first_day:%B %-d} to {row.last_day:%B %-d, %Y}."

    words = EditPage(
        title="Days off",
        button="Add the days off",
        back=_month_address(first) if first else reverse("setup-absences"),
        back_words="Availability",
        purpose=PURPOSE,
        chips=people_chips("setup-absences"),
    )
    return edit_done(request, words, form, write)


def _words(row: Absence) -> EditPage:
    act = Act(
        "Take these days off back",
        reverse("setup-absence-remove", args=[row.public_id]),
        "They count as working days again. The record of changes keeps what they were.",
    )
    return EditPage(
        title=f"Days off of {row.person or row.crew}",
        button="Save",
        back=_month_address(row.first_day),
        back_words="Availability",
        purpose=PURPOSE,
        row=row,
        acts=[act],
        chips=people_chips("setup-absences"),
    )


@form_page
@page
def absence_page(request: HttpRequest, actor: User, absence_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = absence_get(absence_id)
    form = AbsenceForm(request.POST, is_new=False) if request.method == "POST" else AbsenceForm.of(row)

    def write() -> str:
        told = dict(form.cleaned_data)
        read = told.pop("version") or ""
        absence_edit(absence=row, values=told, read=read, stamp=stamped(actor))
        return "The days off are saved."

    return edit_done(request, _words(row), form, write)


@require_POST
@page
def absence_removed(request: HttpRequest, actor: User, absence_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = absence_get(absence_id)

    def write(expected: int, reason: str) -> str:
        absence_remove(absence=row, stamp=stamped(actor, reason))
        return f"{row.person or row.crew} works on those days again."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _words(row), AbsenceForm.of(row), refusal)

    return act_done(request, _month_address(row.first_day), write, shown)
