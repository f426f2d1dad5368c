"""People: the list, one person with all that is known of them, and what they may do."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.conf import settings
from django.db.models import Prefetch, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.crews.models import Person, Qualification
from orders.crews.selectors import absences, members, people, person_get, qualification_get, qualifications_of
from orders.crews.services import (
    person_activate,
    person_add,
    person_deactivate,
    person_edit,
    qualification_add,
    qualification_edit,
    qualification_end,
)
from orders.desk.navigation import DESK, OFFICE, Link, page_opens_to
from orders.desk.setup.history import history_of
from orders.desk.setup.kit import (
    Act,
    Cell,
    Column,
    EditPage,
    Listing,
    act_done,
    below_done,
    edit_done,
    edit_shown,
    form_page,
    in_use_cut,
    list_shown,
    none_to_choose,
    stamped,
)
from orders.desk.setup.people_forms import EndForm, PersonForm, QualificationForm, a_year_on
from orders.desk.setup.people_trouble import Near, PeopleFacts, people_facts, qualification_trouble, season_ahead
from orders.desk.setup.year_strip import Strip, year_strip
from orders.desk.views.pages import page

WHAT = "Setting people up"
SOON_DAYS = 60
PURPOSE = (
    "Everybody who works on the ground: staff, seasonal people, volunteers and contractors. Crews are made of them, "
    "their licenses say which methods a crew may use and where, and close-outs name them."
)


def people_chips(here: str) -> list[Link]:
    named = (
        ("People", "setup-people"),
        ("Crews", "setup-crews"),
        ("Availability", "setup-absences"),
        ("Qualification kinds", "setup-kinds"),
        ("Roles and rates", "setup-roles"),
    )
    return [Link(words, reverse(name), name == here) for words, name in named]


def today_of(actor: User) -> date:
    return stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)


@require_safe
@page
def people_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today = today_of(actor)
    near = season_ahead(today)
    columns = {
        "name": Column("Name", "name", cell=_name_cell),
        "role": Column("Labor role", "role__name", cell=lambda row: str(row.role)),
        "kind": Column("Kind", "person_type", cell=lambda row: row.get_person_type_display()),
        "crew": Column("Crew today", cell=_crew_cell),
        "may": Column("May do", cell=lambda row: _may_cell(row, today)),
        "ends": Column("Ends next", cell=lambda row: _ends_cell(row, today, near)),
        "supervised": Column("Supervised by", cell=lambda row: _supervisors(row, today)),
    }
    listing = Listing(
        title="People",
        about="Who works on the ground, what they may do and until when. What anybody is paid stays with finance.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("name", "role__name", "qualifications__kind__name"),
        cuts=(in_use_cut(),),
        new=reverse("setup-person-new") if actor.has_role(*DESK) else "",
        new_words="Add a person",
        chips=people_chips("setup-people"),
    )
    return list_shown(request, listing, _people(today))


def _people(today: date) -> QuerySet[Person]:
    on_crews = members().filter(first_day__lte=today).exclude(last_day__lt=today)
    return people().prefetch_related(Prefetch("memberships", queryset=on_crews, to_attr="crews_today")).distinct()


def _name_cell(row: Person) -> Cell:
    return Cell(row.name, reverse("setup-person", args=[row.public_id]), "" if row.is_active else "no longer in use")


def _crew_cell(row: Person) -> Cell | str:
    stays = row.crews_today  # type: ignore[attr-defined]  # fetched beside the people
    return Cell(stays[0].crew.name, quiet="leads it" if stays[0].is_lead else "") if stays else ""


def _held(row: Person, today: date) -> list[Qualification]:
    return [one for one in row.qualifications.all() if one.first_day <= today <= one.last_day]


def _may_cell(row: Person, today: date) -> str:
    names = {f"{one.kind}{f' ({one.jurisdiction.code})' if one.jurisdiction else ''}" for one in _held(row, today)}
    return ", ".join(sorted(names))


def _ends_cell(row: Person, today: date, near: Near) -> Cell | str:
    """What ends first, unless it is renewed."""
    running = [one for one in _held(row, today) if not _goes_on(row, one)]
    if not running:
        return ""
    first = min(running, key=lambda one: one.last_day)
    left = (first.last_day - today).days
    inside = near.first <= first.last_day < near.last
    state = "bad" if left <= SOON_DAYS else "wait" if inside else "good"
    when = f"{first.kind}, {first.last_day:%b %-d, %Y}{f', inside {near.name}' if inside else ''}"
    return Cell(f"in {left} days", quiet=when, state=state)


def _goes_on(row: Person, one: Qualification) -> bool:
    same = (other for other in row.qualifications.all() if other.kind_id == one.kind_id)
    return any(other.jurisdiction_id == one.jurisdiction_id and other.last_day > one.last_day for other in same)


def _supervisors(row: Person, today: date) -> str:
    return ", ".join(sorted({one.supervised_by.name for one in _held(row, today) if one.supervised_by}))


@dataclass(frozen=True)
class HeldLine:
    """A qualification as the person's page shows it."""

    row: Qualification
    state: str
    words: str
    trouble: list[str]


@require_safe
@page
def person_page(request: HttpRequest, actor: User, person_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    person, today = person_get(person_id), today_of(actor)
    held = list(qualifications_of(person))
    facts = people_facts(today)
    told = {
        "person": person,
        "may_edit": actor.has_role(*DESK),
        "held": [_held_line(facts, row) for row in held],
        "strip": _strip(held, today),
        "supervises": [row for row in qualifications_of(person, supervised=True) if row.last_day >= today],
        "stays": members().filter(person=person).order_by("-first_day"),
        "absences": absences().filter(person=person, last_day__gte=today),
        "today": today,
        "chips": people_chips("setup-people"),
        "history": history_of(person) if actor.has_role(*DESK) else [],
    }
    return render(request, "desk/setup/person.html", told)


def _held_line(facts: PeopleFacts, row: Qualification) -> HeldLine:
    left = (row.last_day - facts.today).days
    if row.first_day > facts.today:
        return HeldLine(row, "wait", f"from {row.first_day:%b} {row.first_day.day}, {row.first_day.year}", [])
    if left < 0:
        return HeldLine(row, "off", "ended", [])
    state = "bad" if left <= SOON_DAYS else "good"
    return HeldLine(row, state, f"{left} days left", qualification_trouble(facts, row))


def _strip(held: Iterable[Qualification], today: date) -> Strip:
    year = (date(today.year, 1, 1), date(today.year, 12, 31))
    lines = [
        (f"{row.kind}{f', {row.jurisdiction}' if row.jurisdiction else ''}", row.first_day, row.last_day)
        for row in held
    ]
    return year_strip(lines, year, today)


def _page_of(person: Person) -> str:
    return reverse("setup-person", args=[person.public_id])


@form_page
@page
def person_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = PersonForm(request.POST or None, initial={"role": request.GET.get("role", "")})

    def write() -> str:
        person = person_add(**form.values(), stamp=stamped(actor))
        return f"{person.name} is added. Put them on a crew, and say what they may do."

    words = EditPage(
        title="A new person",
        button="Add the person",
        back=reverse("setup-people"),
        back_words="People",
        purpose=PURPOSE,
        after=f"{request.path}?role={request.POST.get('role', '')}" if "next" in request.POST else "",
        template="desk/setup/person_new.html",
        notices=none_to_choose(form, "role", "There is no labor role yet: add one first, under Roles and rates."),
        chips=people_chips("setup-people"),
    )
    return edit_done(request, words, form, write)


def _edit_words(person: Person) -> EditPage:
    named = [person.public_id]
    away = Act(
        "Take out of use",
        reverse("setup-person-deactivate", args=named),
        "For somebody who has left: counted on no crew from now on. Hours and records stay; it can be put back.",
    )
    back = Act("Put back in use", reverse("setup-person-activate", args=named))
    return EditPage(
        title=person.name,
        button="Save",
        back=_page_of(person),
        back_words=person.name,
        purpose=PURPOSE,
        row=person,
        acts=[away if person.is_active else back],
        chips=people_chips("setup-people"),
    )


@form_page
@page
def person_edited(request: HttpRequest, actor: User, person_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    person = person_get(person_id)
    form = PersonForm(request.POST, person=person) if request.method == "POST" else PersonForm.of(person)

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        person_edit(person=person, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{person.name} is saved."

    return edit_done(request, _edit_words(person), form, write)


@require_POST
@page
def person_used(request: HttpRequest, actor: User, person_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    person = person_get(person_id)

    def write(expected: int, reason: str) -> str:
        verb = person_activate if is_active else person_deactivate
        verb(person=person, expected=expected, stamp=stamped(actor, reason))
        return f"{person.name} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _edit_words(person), PersonForm.of(person), refusal)

    return act_done(request, _page_of(person), write, shown)


QUALIFIED = (
    "What a person may do, where and until when. A method that asks for a license is planned only for a crew with "
    "somebody who holds it there that day. The program keeps the record; whether a license is valid, and what "
    "supervision it asks for, the law of the place and the licensing office decide."
)


@form_page
@page
def qualification_new(request: HttpRequest, actor: User, person_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    person, today = person_get(person_id), today_of(actor)
    days = {"first_day": today, "last_day": a_year_on(today)}
    form = QualificationForm(request.POST or None, person=person, is_new=True, initial=days)

    def write() -> str:
        row = qualification_add(person=person, **form.values(), stamp=stamped(actor))
        return f"{row.kind} to {row.last_day:%B} {row.last_day.day}, {row.last_day.year} is on record."

    words = EditPage(
        title=f"What {person.name} may do",
        button="Add it",
        back=_page_of(person),
        back_words=person.name,
        purpose=QUALIFIED,
        notices=none_to_choose(form, "kind", "There is no kind of qualification yet: add one first."),
        chips=people_chips("setup-people"),
    )
    return edit_done(request, words, form, write)


def _qualification_words(row: Qualification, today: date) -> EditPage:
    named = [row.public_id]
    told = {
        "end_form": EndForm(initial={"last_day": today, "version": row.version}),
        "end": reverse("setup-qualification-end", args=named),
    }
    return EditPage(
        title=f"{row.kind} of {row.person}",
        button="Save",
        back=_page_of(row.person),
        back_words=row.person.name,
        purpose=QUALIFIED,
        row=row,
        notices=qualification_trouble(people_facts(today), row),
        chips=people_chips("setup-people"),
        below="desk/setup/end.html" if row.last_day >= today else "",
        more=told,
    )


@form_page
@page
def qualification_edited(request: HttpRequest, actor: User, qualification_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = qualification_get(qualification_id)
    form = (
        QualificationForm(request.POST, person=row.person, is_new=False)
        if request.method == "POST"
        else QualificationForm.of(row)
    )

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        qualification_edit(qualification=row, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{row.kind} of {row.person} is saved."

    return edit_done(request, _qualification_words(row, today_of(actor)), form, write)


@require_POST
@page
def qualification_ended(request: HttpRequest, actor: User, qualification_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row, form = qualification_get(qualification_id), EndForm(request.POST)
    words = _qualification_words(row, today_of(actor))
    told = {**words.more, "end_form": form}

    def write() -> str:
        values = form.cleaned_data
        qualification_end(
            qualification=row, last_day=values["last_day"], expected=values["version"] or 0, stamp=stamped(actor)
        )
        return f"{row.kind} of {row.person} ends on {row.last_day:%B} {row.last_day.day}, {row.last_day.year}."

    return below_done(request, words, told, QualificationForm.of(row), form, write)
