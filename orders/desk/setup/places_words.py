"""Jurisdictions, growth forms and the questions of the checklist."""

from dataclasses import replace
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.setup.kit import (
    Act,
    Cell,
    Column,
    EditPage,
    Listing,
    act_done,
    edit_done,
    edit_shown,
    form_page,
    in_use_cut,
    list_shown,
    stamped,
    use_act,
)
from orders.desk.setup.places import WHAT, places_chips
from orders.desk.setup.places_forms import GrowthFormForm, JurisdictionForm, QuestionForm
from orders.desk.views.pages import page
from orders.sites.models import ChecklistQuestion, GrowthForm, Jurisdiction
from orders.sites.services import (
    checklist_question_activate,
    checklist_question_add,
    checklist_question_deactivate,
    checklist_question_edit,
    checklist_question_remove,
    growth_form_edit,
    jurisdiction_activate,
    jurisdiction_add,
    jurisdiction_deactivate,
    jurisdiction_edit,
)
from orders.sites.setting_up import (
    growth_form_get,
    growth_forms_known,
    jurisdiction_get,
    jurisdictions_known,
    question_get,
    questions_known,
)

JURISDICTION = (
    "Whose rules hold at a site: a state, mostly. Licenses are good in one, a label is registered in some, and the "
    "rules on records differ between them. What the rules are, the state's own agency says."
)
NO_MORE = (
    "Offered for new sites and licenses no longer. Licenses, labels and rules on records that name it stay; it can be "
    "put back."
)
FORM = (
    "How a plant grows where it was surveyed. Methods fit some forms and not others, rates differ by them, and a form "
    "that cannot fruit has no seed deadline. Which forms there are is fixed, since estimates rest on them."
)
QUESTION = (
    "What somebody must have answered for a site before an order is issued there, such as who was told and what lies "
    "under the ground. A question is open at every site until it is answered there."
)


def _named(actor: User, row: Jurisdiction | GrowthForm | ChecklistQuestion, page_name: str) -> Cell:
    """By its words, with a link for who may change it."""
    return Cell(str(row), reverse(page_name, args=[row.public_id]) if actor.has_role(*DESK) else "")


@require_safe
@page
def jurisdictions_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    columns = {
        "name": Column("Jurisdiction", "name", cell=lambda row: _jurisdiction_cell(actor, row)),
        "code": Column("Code", "code", cell=lambda row: row.code),
        "sites": Column("Sites", "site_count", True, cell=lambda row: str(row.site_count)),
    }
    listing = Listing(
        title="Jurisdictions",
        about="Whose rules hold where.",
        purpose=JURISDICTION,
        columns=columns,
        usual="name",
        searched=("name", "code"),
        cuts=(in_use_cut(),),
        new=reverse("setup-jurisdiction-new") if actor.has_role(*DESK) else "",
        offered=reverse("setup-usual", args=["jurisdictions"]) if actor.has_role(*DESK) else "",
        new_words="Add a jurisdiction",
        chips=places_chips("setup-jurisdictions"),
    )
    return list_shown(request, listing, jurisdictions_known())


def _jurisdiction_cell(actor: User, row: Jurisdiction) -> Cell:
    return replace(_named(actor, row, "setup-jurisdiction"), quiet="" if row.is_active else "no longer in use")


@form_page
@page
def jurisdiction_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = JurisdictionForm(request.POST or None)

    def write() -> str:
        told = form.cleaned_data
        return f"{jurisdiction_add(code=told['code'], name=told['name'], stamp=stamped(actor))} is added."

    back = reverse("setup-jurisdictions")
    words = EditPage("A new jurisdiction", "Add it", back, "Jurisdictions", JURISDICTION)
    return edit_done(request, words, form, write)


@form_page
@page
def jurisdiction_page(request: HttpRequest, actor: User, jurisdiction_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = jurisdiction_get(jurisdiction_id)
    form = JurisdictionForm.of(row)
    if request.method == "POST":
        form = JurisdictionForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        name = form.cleaned_data["name"]
        jurisdiction_edit(jurisdiction=row, name=name, read=form.read, stamp=stamped(actor))
        return f"{name} is saved."

    return edit_done(request, _jurisdiction_words(row), form, write)


def _jurisdiction_words(row: Jurisdiction) -> EditPage:
    return EditPage(
        f"{row.name} ({row.code})",
        "Save",
        reverse("setup-jurisdictions"),
        "Jurisdictions",
        JURISDICTION,
        row=row,
        acts=(use_act(row, "setup-jurisdiction", NO_MORE),),
        notices=() if row.is_active else ("No longer in use: offered for nothing new.",),
    )


@require_POST
@page
def jurisdiction_used(request: HttpRequest, actor: User, jurisdiction_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = jurisdiction_get(jurisdiction_id)

    def write(version: int, reason: str) -> str:
        verb = jurisdiction_activate if is_active else jurisdiction_deactivate
        verb(jurisdiction=row, read=None, stamp=stamped(actor, reason))
        return f"{row.name} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _jurisdiction_words(row), JurisdictionForm.of(row), refusal)

    return act_done(request, reverse("setup-jurisdiction", args=[row.public_id]), write, shown)


@require_safe
@page
def growth_forms_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    columns = {
        "name": Column("Growth form", "name", cell=lambda row: _named(actor, row, "setup-growth-form")),
        "code": Column("In files", "code", cell=lambda row: row.code),
        "fruits": Column(
            "Fruit", "fruits", cell=lambda row: "fruits: has a seed deadline" if row.fruits else "does not fruit"
        ),
    }
    listing = Listing(
        title="Growth forms",
        about="How plants grow where they were surveyed. Names may be changed; which forms there are may not.",
        purpose=FORM,
        columns=columns,
        usual="name",
        chips=places_chips("setup-growth-forms"),
    )
    return list_shown(request, listing, growth_forms_known())


@form_page
@page
def growth_form_page(request: HttpRequest, actor: User, form_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = growth_form_get(form_id)
    form = GrowthFormForm(request.POST) if request.method == "POST" else GrowthFormForm.of(row)

    def write() -> str:
        name = form.cleaned_data["name"]
        growth_form_edit(growth_form=row, name=name, read=form.read, stamp=stamped(actor))
        return f"{name} is saved."

    words = EditPage(row.name, "Save", reverse("setup-growth-forms"), "Growth forms", FORM, row=row)
    return edit_done(request, words, form, write)


@require_safe
@page
def questions_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    columns = {
        "question": Column("Question", "question", cell=lambda row: _named(actor, row, "setup-question")),
        "code": Column("Code", "code", cell=lambda row: row.code),
        "sort": Column("Place", "sort", cell=lambda row: str(row.sort)),
        "sites": Column("Answered at sites", "site_count", True, cell=lambda row: str(row.site_count)),
    }
    listing = Listing(
        title="Checklist",
        about="What must be answered for a site before an order is issued there. Answers stand on each site's page.",
        purpose=QUESTION,
        columns=columns,
        usual="sort",
        searched=("question", "code"),
        cuts=(in_use_cut(),),
        new=reverse("setup-question-new") if actor.has_role(*DESK) else "",
        offered=reverse("setup-usual", args=["questions"]) if actor.has_role(*DESK) else "",
        new_words="Add a question",
        chips=places_chips("setup-questions"),
    )
    return list_shown(request, listing, questions_known())


@form_page
@page
def question_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = QuestionForm(request.POST or None, initial={"sort": questions_known().count() * 10 + 10})

    def write() -> str:
        told = {name: form.cleaned_data[name] for name in ("code", "question", "sort")}
        checklist_question_add(**told, stamp=stamped(actor))
        return "The question is added. It is open at every site until it is answered there."

    back = reverse("setup-questions")
    words = EditPage("A new question", "Add it", back, "Checklist", QUESTION)
    return edit_done(request, words, form, write)


@form_page
@page
def question_page(request: HttpRequest, actor: User, question_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = question_get(question_id)
    form = QuestionForm.of(row)
    if request.method == "POST":
        form = QuestionForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        told = form.cleaned_data
        checklist_question_edit(
            question=row, text=told["question"], sort=told["sort"], read=form.read, stamp=stamped(actor)
        )
        return "The question is saved."

    return edit_done(request, _question_words(row), form, write)


def _question_words(row: ChecklistQuestion) -> EditPage:
    about = "It was never answered. What it said stays in the record of changes."
    out = Act("Take it out", reverse("setup-question-remove", args=[row.public_id]), about)
    answered = bool(getattr(row, "site_count", 0))
    used = use_act(row, "setup-question", "It is asked at no site any more. Answers stay on record.")
    kept = "Answers stay with the question. What asks something else is a new question."
    gone = () if row.is_active else ("No longer in use: asked at no site.",)
    return EditPage(
        "A question of the checklist",
        "Save",
        reverse("setup-questions"),
        "Checklist",
        QUESTION,
        row=row,
        acts=(used,) if answered else (used, out),
        notices=(*gone, kept) if answered else gone,
    )


@require_POST
@page
def question_used(request: HttpRequest, actor: User, question_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = question_get(question_id)

    def write(version: int, reason: str) -> str:
        verb = checklist_question_activate if is_active else checklist_question_deactivate
        verb(question=row, read=None, stamp=stamped(actor, reason))
        return f"The question is {'asked again' if is_active else 'asked no more'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _question_words(row), QuestionForm.of(row), refusal)

    return act_done(request, reverse("setup-question", args=[row.public_id]), write, shown)


@require_POST
@page
def question_removed(request: HttpRequest, actor: User, question_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = question_get(question_id)

    def write(version: int, reason: str) -> str:
        checklist_question_remove(question=row, read=None, stamp=stamped(actor, reason))
        return "The question is taken out."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _question_words(row), QuestionForm.of(row), refusal)

    return act_done(request, reverse("setup-questions"), write, shown)
