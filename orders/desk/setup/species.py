"""Species: what they are, and the days of their year that deadlines and windows rest on."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.dateformat import format as date_words
from django.utils.text import capfirst
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Invalid, Refusal
from orders.common.models import User
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.setup.kit import (
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
from orders.desk.setup.species_forms import SpeciesForm
from orders.desk.views.pages import page
from orders.sites.models import Species
from orders.sites.selectors import species_all, species_get
from orders.sites.services import species_activate, species_add, species_deactivate, species_edit

WHAT = "Setting species up"
PURPOSE = (
    "A plant that the program fights. Survey files name it by its code. Whether it keeps its leaves, comes back from "
    "stumps or roots from pulled stems decides which methods fit; the days on which it fruits make the seed deadline. "
    "Every day is told with its source, since a deadline is only as good as that."
)


NO_MORE = (
    "Offered for new surveys no longer. Patches that have it stay, with their deadlines and work, and a file that "
    "names it is still read. It can be put back."
)


def species_address(row: Species) -> str:
    return reverse("setup-species-one", args=[row.public_id])


@require_safe
@page
def species_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    columns = {
        "name": Column("Species", "common_name", cell=_name_cell),
        "code": Column("In files", "code", cell=lambda row: row.code),
        "habit": Column("Habit", cell=_habit),
        "fruit": Column("Fruits", "fruit_first_month", cell=_fruit_cell),
        "source": Column("Source", cell=lambda row: row.phenology_source),
    }
    listing = Listing(
        title="Species",
        about="Plants that the program fights, and the days of their year.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("common_name", "scientific_name", "code"),
        cuts=(in_use_cut(),),
        new=reverse("setup-species-new") if actor.has_role(*DESK) else "",
        offered=reverse("setup-usual", args=["species"]) if actor.has_role(*DESK) else "",
        new_words="Add a species",
    )
    return list_shown(request, listing, species_all())


def _name_cell(row: Species) -> Cell:
    quiet = row.scientific_name if row.is_active else f"{row.scientific_name}, no longer in use"
    return Cell(row.common_name, species_address(row), quiet)


def _habit(row: Species) -> str:
    told = ["evergreen" if row.evergreen else "drops its leaves"]
    told += ["comes back from stumps"] if row.resprouts else []
    told += ["roots from pulled stems"] if row.pulled_stems_reroot == "yes" else []
    return ", ".join(told)


def _fruit_cell(row: Species) -> Cell:
    if row.fruit_first_month is None or row.fruit_last_month is None:
        return Cell("not known", quiet="no seed deadline", state="wait")
    first = _day_words(row.fruit_first_month, row.fruit_first_day)
    return Cell(f"{first} to {_day_words(row.fruit_last_month, row.fruit_last_day)}")


def _day_words(month: int, day: int | None) -> str:
    return date_words(date(2000, month, day or 1), "M j")


@form_page
@page
def species_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = SpeciesForm(request.POST or None)

    def write() -> str:
        made = _at_its_field(lambda: species_add(**form.added(), stamp=stamped(actor)))
        return f"{made.common_name} is added."

    words = EditPage("A new species", "Add the species", reverse("setup-species"), "Species", PURPOSE)
    return edit_done(request, words, form, write)


@form_page
@page
def species_one_page(request: HttpRequest, actor: User, species_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE if request.method in ("GET", "HEAD") else DESK, WHAT)
    row, may_edit = species_get(species_id), actor.has_role(*DESK)
    words = _words(row, may_edit)
    if not may_edit:
        return edit_shown(request, words, None)
    form = SpeciesForm.of(row)
    if request.method == "POST":
        form = SpeciesForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        expected, stamp = form.cleaned_data["version"] or 0, stamped(actor)
        _at_its_field(lambda: species_edit(species=row, values=form.values(), expected=expected, stamp=stamp))
        return f"{row.common_name} is saved. Deadlines and windows are figured from it anew."

    return edit_done(request, words, form, write)


def _words(row: Species, may_edit: bool) -> EditPage:
    told = () if may_edit else (f"{_habit(row).capitalize()}. Fruits: {_fruit_cell(row).text}.",)
    gone = () if row.is_active else ("No longer in use: offered for nothing new.",)
    return EditPage(
        title=capfirst(row.common_name),
        button="Save",
        back=reverse("setup-species"),
        back_words="Species",
        purpose=PURPOSE,
        row=row if may_edit else None,
        acts=(use_act(row, "setup-species", NO_MORE),) if may_edit else (),
        after=species_address(row),
        notices=(*gone, *told),
    )


@require_POST
@page
def species_used(request: HttpRequest, actor: User, species_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = species_get(species_id)

    def write(expected: int, reason: str) -> str:
        verb = species_activate if is_active else species_deactivate
        verb(species=row, expected=expected, stamp=stamped(actor, reason))
        return f"{row.common_name} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _words(row, True), SpeciesForm.of(row), refusal)

    return act_done(request, species_address(row), write, shown)


def _at_its_field(write: Callable[[], Species]) -> Species:
    """A day is one field here, and two columns there."""
    try:
        return write()
    except Invalid as refusal:
        refusal.errors[:] = [replace(error, field=error.field.removesuffix("_day")) for error in refusal.errors]
        raise
