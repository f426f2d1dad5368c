"""Crews: the list, one crew with its people and skills, and who leads it."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.transactions import writing
from orders.crews.models import Crew, CrewMembership
from orders.crews.selectors import crew_get, crews, member_get, members, people_free
from orders.crews.services import (
    crew_activate,
    crew_add,
    crew_deactivate,
    crew_edit,
    crew_lead_change,
    crew_member_add,
    crew_member_edit,
)
from orders.desk.navigation import DESK, OFFICE, page_opens_to
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
from orders.desk.setup.people import people_chips, today_of
from orders.desk.setup.people_forms import WEEKDAYS, CrewForm, LeadForm, MemberForm, NewCrewForm
from orders.desk.setup.people_trouble import PeopleFacts, crew_trouble, people_facts, program_trouble
from orders.desk.views.pages import page

WHAT = "Setting crews up"
PURPOSE = (
    "Who goes out together. The plan gives a crew days on its weekdays, up to its hours, for methods that somebody on "
    "it may use. What stands planned or ordered is not moved by a change here: plan the season again for that."
)
NEW = {"hours_a_day": 8, "weekdays": ["0", "1", "2", "3", "4"]}


@require_safe
@page
def crews_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today = today_of(actor)
    facts = people_facts(today)
    columns = {
        "name": Column("Crew", "name", cell=_name_cell),
        "lead": Column("Lead today", cell=lambda row: ", ".join(_names(row, leads=True))),
        "people": Column("Others today", cell=lambda row: ", ".join(_names(row, leads=False))),
        "hours": Column("Hours a day", "hours_a_day", is_number=True, cell=lambda row: f"{row.hours_a_day:.2f}"),
        "days": Column("Works on", cell=_weekdays),
        "skills": Column(f"May do in {facts.near.name}", cell=lambda row: _skills_cell(facts, row)),
        "trouble": Column("To see to", cell=lambda row: _trouble_cell(facts, row)),
    }
    listing = Listing(
        title="Crews",
        about="Who goes out together, on which days, and what they may do.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("name", "memberships__person__name"),
        cuts=(in_use_cut(),),
        new=reverse("setup-crew-new") if actor.has_role(*DESK) else "",
        new_words="Add a crew",
        chips=people_chips("setup-crews"),
        notices=program_trouble(facts) if facts.crews else [],
    )
    return list_shown(request, listing, crews(today).distinct())


def _name_cell(row: Crew) -> Cell:
    return Cell(row.name, reverse("setup-crew", args=[row.public_id]), "" if row.is_active else "no longer in use")


def _names(row: Crew, *, leads: bool) -> list[str]:
    stays = row.members_today  # type: ignore[attr-defined]  # fetched beside the crews
    return [stay.person.name for stay in stays if stay.is_lead == leads and stay.person.is_active]


def _weekdays(row: Crew) -> str:
    return ", ".join(name[:3] for name, works in zip(WEEKDAYS, row.works_weekdays, strict=True) if works == "1")


def _skills_cell(facts: PeopleFacts, row: Crew) -> str:
    held = [skill for skill in facts.skills(row) if skill.days]
    return ", ".join(f"{one.kind} ({one.place.code}){'' if one.state == 'good' else ' in part'}" for one in held)


def _trouble_cell(facts: PeopleFacts, row: Crew) -> Cell | str:
    told = crew_trouble(facts, row) if row.is_active else []
    return Cell(f"{len(told)} to see to", state="bad", quiet=" ".join(told)) if told else ""


def _page_of(crew: Crew) -> str:
    return reverse("setup-crew", args=[crew.public_id])


@form_page
@page
def crew_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    stamp, today = stamped(actor), today_of(actor)
    form = NewCrewForm(request.POST or None, initial=NEW, free=list(people_free(today)))

    @writing()
    def write() -> str:
        crew, stays = crew_add(**form.values(), stamp=stamp), form.stays()
        for person, is_lead in stays:
            crew_member_add(crew=crew, person=person, first_day=today, is_lead=is_lead, stamp=stamp)
        if any(is_lead for _, is_lead in stays):
            return f"{crew.name} is added with {len(stays)} {'person' if len(stays) == 1 else 'people'} on it."
        return f"{crew.name} is added. Put people on it, one of them as its lead."

    words = EditPage(
        title="A new crew",
        button="Add the crew",
        back=reverse("setup-crews"),
        back_words="Crews",
        purpose=PURPOSE,
        chips=people_chips("setup-crews"),
    )
    return edit_done(request, words, form, write)


@form_page
@page
def crew_page(request: HttpRequest, actor: User, crew_id: UUID) -> HttpResponse:
    """All that a crew is, with the form for those who may change it."""
    page_opens_to(actor, OFFICE if request.method != "POST" else DESK, WHAT)
    crew = crew_get(crew_id)
    form: Any = CrewForm(request.POST) if request.method == "POST" else CrewForm.of(crew)

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        crew_edit(crew=crew, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{crew.name} is saved."

    if not actor.has_role(*DESK):
        return edit_shown(request, _words(actor, crew), None)
    return edit_done(request, _words(actor, crew), form, write)


def _words(actor: User, crew: Crew) -> EditPage:
    named, today = [crew.public_id], today_of(actor)
    facts, may_edit = people_facts(today), actor.has_role(*DESK)
    stays = list(members().filter(crew=crew).order_by("-is_lead", "person__name", "first_day"))
    there = [stay for stay in stays if stay.first_day <= today and not (stay.last_day and stay.last_day < today)]
    told = {
        "crew": crew,
        "may_edit": may_edit,
        "there": there,
        "others": [stay for stay in stays if stay not in there],
        "skills": facts.skills(crew),
        "near": facts.near,
        "lead_form": LeadForm(people=[stay.person for stay in there], initial={"from_day": today}) if there else None,
    }
    return EditPage(
        title=crew.name,
        button="Save",
        back=reverse("setup-crews"),
        back_words="Crews",
        purpose=PURPOSE,
        row=crew if may_edit else None,
        after=_page_of(crew),
        acts=[_act(crew, named)] if may_edit else [],
        notices=crew_trouble(facts, crew) if crew.is_active else ["No longer in use: no work is planned for it."],
        chips=people_chips("setup-crews"),
        below="desk/setup/crew_people.html",
        more=told,
    )


def _act(crew: Crew, named: list[UUID]) -> Act:
    if not crew.is_active:
        return Act("Put back in use", reverse("setup-crew-activate", args=named))
    about = "No more work is planned for it. Orders that it has stay with it: reassign those that it will not do."
    return Act("Take out of use", reverse("setup-crew-deactivate", args=named), about)


@require_POST
@page
def crew_used(request: HttpRequest, actor: User, crew_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    crew = crew_get(crew_id)

    def write(expected: int, reason: str) -> str:
        verb = crew_activate if is_active else crew_deactivate
        verb(crew=crew, expected=expected, stamp=stamped(actor, reason))
        return f"{crew.name} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _words(actor, crew), CrewForm.of(crew), refusal)

    return act_done(request, _page_of(crew), write, shown)


@require_POST
@page
def crew_led(request: HttpRequest, actor: User, crew_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    crew = crew_get(crew_id)
    words = _words(actor, crew)
    form = LeadForm(request.POST, people=[stay.person for stay in words.more["there"]])

    def write() -> str:
        person = next(
            one.person for one in words.more["there"] if str(one.person.public_id) == form.cleaned_data["person"]
        )
        crew_lead_change(crew=crew, person=person, from_day=form.cleaned_data["from_day"], stamp=stamped(actor))
        return f"{person} leads {crew} from {form.cleaned_data['from_day']:%B %-d, %Y}."

    return below_done(request, words, {"lead_form": form}, CrewForm.of(crew), form, write)


STAY = (
    "From when to when a person is on a crew. A person is on one crew at a time, so that a day's hours count once. "
    "To move somebody, end the stay here and add one on the other crew."
)


@form_page
@page
def member_new(request: HttpRequest, actor: User, crew_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    crew = crew_get(crew_id)
    form = MemberForm(request.POST or None, initial={"first_day": today_of(actor)})

    def write() -> str:
        member = crew_member_add(crew=crew, **form.values(), stamp=stamped(actor))
        return f"{member.person} is on {crew} from {member.first_day:%B %-d, %Y}."

    words = EditPage(
        title=f"Put a person on {crew.name}",
        button="Put on the crew",
        back=_page_of(crew),
        back_words=crew.name,
        purpose=STAY,
        notices=none_to_choose(form, "person", "There is nobody yet: add people first."),
        chips=people_chips("setup-crews"),
    )
    return edit_done(request, words, form, write)


@form_page
@page
def member_edited(request: HttpRequest, actor: User, member_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    member = member_get(member_id)
    form = MemberForm(request.POST, is_new=False) if request.method == "POST" else MemberForm.of(member)

    def write() -> str:
        read = form.cleaned_data["version"] or ""
        crew_member_edit(member=member, values=form.values(), read=read, stamp=stamped(actor))
        return f"{member.person}'s days on {member.crew} are saved."

    return edit_done(request, _member_words(member), form, write)


def _member_words(member: CrewMembership) -> EditPage:
    return EditPage(
        title=f"{member.person} on {member.crew}",
        button="Save",
        back=_page_of(member.crew),
        back_words=member.crew.name,
        purpose=STAY,
        row=member,
        chips=people_chips("setup-crews"),
    )
