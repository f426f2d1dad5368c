"""Taking in what many programs begin with: marked on one page, added with one button."""

from collections.abc import Callable
from dataclasses import dataclass

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from orders.common.errors import NotFound
from orders.common.models import User
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.setup.kit import EditPage, edit_done, edit_shown, form_page, stamped
from orders.desk.setup.usual import Usual, jurisdictions_usual, questions_usual, species_usual, usual_take
from orders.desk.views.pages import page


@dataclass(frozen=True)
class Kind:
    title: str
    one: str
    many: str
    back: str  # the name of the list's address
    back_words: str
    purpose: str
    usual: Callable[[], list[Usual]]
    is_marked: bool  # whether all of it is marked to begin with


KINDS = {
    "jurisdictions": Kind(
        "Where the sites are",
        "jurisdiction",
        "jurisdictions",
        "setup-jurisdictions",
        "Jurisdictions",
        "States whose rules on records are here already, each with its source, for the pesticide supervisor to look "
        "over. A state that is not in the list is added by hand; the program's own rule holds there until yours is "
        "entered. What the rules are, the state's own agency says.",
        jurisdictions_usual,
        False,
    ),
    "species": Kind(
        "Species to begin with",
        "species",
        "species",
        "setup-species",
        "Species",
        "Species that are often fought, with the days of their year. Every figure says where it is from; what is from "
        "memory is to be looked over, since seed deadlines come of it. Take those out that are not yours, and mend "
        "the days for your own ground afterwards.",
        species_usual,
        True,
    ),
    "questions": Kind(
        "Questions to begin with",
        "question",
        "questions",
        "setup-questions",
        "Checklist",
        "What is commonly asked about a site before a crew works there (common practice). Each is answered once for "
        "each site; an order is issued only when all are. What must be asked, local rules and the owner of the ground "
        "say.",
        questions_usual,
        True,
    ),
}


class UsualForm(forms.Form):
    rows = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        label="Take in",
        error_messages={"required": "Mark one at least."},
    )

    def __init__(self, data: object, offered: list[Usual], is_marked: bool) -> None:
        initial = {"rows": [row.code for row in offered]} if is_marked else {}
        super().__init__(data, initial=initial)  # type: ignore[arg-type]
        choices = [(row.code, f"{row.words} ({row.about})") for row in offered]
        self.fields["rows"].choices = choices  # type: ignore[attr-defined]


@form_page
@page
def usual_page(request: HttpRequest, actor: User, kind: str) -> HttpResponse:
    page_opens_to(actor, DESK, "Setting up")
    found = KINDS.get(kind)
    if found is None:
        raise NotFound("There is no such page.")
    offered = found.usual()
    form = UsualForm(request.POST if request.method == "POST" else None, offered, found.is_marked)

    def write() -> str:
        marked = [row for row in offered if row.code in form.cleaned_data["rows"]]
        count = usual_take(rows=marked, stamp=stamped(actor))
        return f"{count} {found.one if count == 1 else found.many} added."

    words = EditPage(
        title=found.title,
        button="Add the marked",
        back=reverse(found.back),
        back_words=found.back_words,
        purpose=found.purpose if offered else f"All of these are here already. {found.purpose}",
    )
    return edit_done(request, words, form, write) if offered else edit_shown(request, words, None)
