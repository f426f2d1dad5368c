"""Methods: what each needs and does, what a crew has with it, and what is missing before it can be estimated."""

from collections.abc import Mapping
from dataclasses import replace
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from estimating.units import fahrenheit
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.models import User
from orders.desk.navigation import DESK, OFFICE, Link, page_opens_to
from orders.desk.setup.kit import (
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
    stamped,
    use_act,
)
from orders.desk.setup.methods_forms import MethodForm, NeedsForm
from orders.desk.views.pages import page
from orders.estimates.method_gaps import book_rates, books_in_force, method_gaps, methods_rated
from orders.estimates.models import Method
from orders.estimates.selectors import method_of
from orders.estimates.services import (
    method_activate,
    method_add,
    method_deactivate,
    method_edit,
    method_equipment_set,
)

WHAT = "Setting methods up"
PURPOSE = (
    "A way to treat a patch. These facts decide what it fits and when it may be done; a rate book says how long it "
    "takes. A method that no rate book in force has rates for is offered nowhere."
)
NO_MORE = (
    "Recommended, estimated and offered for nothing new from now on. What was chosen or ordered by it stays and is "
    "done; it can be put back."
)
HERBICIDE = (
    "Caution. Herbicide work is done as the label on the container says. The label, local rules and a licensed person "
    "decide; nothing here passes a label's limit."
)


def methods_chips(here: str) -> list[Link]:
    named = (("Methods", "setup-methods"), ("Chains", "setup-chains"), ("Rate books", "rate-books"))
    return [Link(words, reverse(name), name == here) for words, name in named]


def _address(row: Method) -> str:
    return reverse("setup-method", args=[row.public_id])


@require_safe
@page
def methods_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    books = books_in_force()
    rated = methods_rated(books)
    columns = {
        "name": Column("Method", "name", cell=_name_cell),
        "season": Column("When", cell=lambda row: str(row.facts.get("season_rule", "")).capitalize()),
        "license": Column("License or training", "qualification__name", cell=_license),
        "mix": Column("Mix", "default_mix__name", cell=_mix_cell),
        "needs": Column("Equipment", cell=_needs),
        "rates": Column("Rates in force", cell=lambda row: _rated_cell(rated, len(books), row)),
    }
    listing = Listing(
        title="Methods",
        about="Ways to treat a patch, and what each needs.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("name", "code"),
        cuts=(in_use_cut(),),
        new=reverse("setup-method-new") if actor.has_role(*DESK) else "",
        new_words="Add a method",
        chips=methods_chips("setup-methods"),
    )
    rows = Method.objects.select_related("qualification", "default_mix").prefetch_related("equipment_needs__equipment")
    return list_shown(request, listing, rows)


def _name_cell(row: Method) -> Cell:
    return Cell(row.name.capitalize(), _address(row), row.code if row.is_active else f"{row.code}, no longer in use")


def _license(row: Method) -> str:
    return row.qualification.name if row.qualification else "none"


def _mix_cell(row: Method) -> Cell:
    if row.default_mix:
        return Cell(row.default_mix.name)
    return Cell("missing", state="bad") if row.uses_herbicide else Cell("no herbicide")


def _needs(row: Method) -> str:
    return ", ".join(f"{need.units_per_crew} {need.equipment.name.lower()}" for need in row.equipment_needs.all())


def _rated_cell(rated: Mapping[int, set[str]], books: int, row: Method) -> Cell:
    count = sum(row.code in codes for codes in rated.values())
    if not count:
        return Cell("none: not offered", state="bad")
    return Cell(f"in {count} of {books} books", state="good")


@form_page
@page
def method_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = MethodForm(request.POST or None)

    def write() -> str:
        method = method_add(facts=form.facts(), stamp=stamped(actor), **form.named())
        return f"{method.name.capitalize()} is added. Add its rates to a draft rate book and put that in force."

    words = EditPage(
        "A new method",
        "Add the method",
        reverse("setup-methods"),
        "Methods",
        PURPOSE,
        chips=methods_chips("setup-methods"),
        cautions=(HERBICIDE,),
    )
    return edit_done(request, words, form, write)


@form_page
@page
def method_page(request: HttpRequest, actor: User, method_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE if request.method in ("GET", "HEAD") else DESK, WHAT)
    method = method_of(method_id)
    words = _words(actor, method)
    if not actor.has_role(*DESK):
        return edit_shown(request, words, None)
    form = MethodForm.of(method)
    if request.method == "POST":
        form = MethodForm(request.POST, method=method)
        del form.fields["code"]

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        method_edit(method=method, facts=form.facts(), expected=expected, stamp=stamped(actor), **form.named())
        return f"{method.name.capitalize()} is saved. Estimates made before are told to be out of date."

    return edit_done(request, words, form, write)


@require_POST
@page
def method_used(request: HttpRequest, actor: User, method_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    method = method_of(method_id)

    def write(expected: int, reason: str) -> str:
        verb = method_activate if is_active else method_deactivate
        verb(method=method, expected=expected, stamp=stamped(actor, reason))
        return f"{method.name.capitalize()} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _words(actor, method), MethodForm.of(method), refusal)

    return act_done(request, _address(method), write, shown)


@require_POST
@page
def method_needs(request: HttpRequest, actor: User, method_id: UUID) -> HttpResponse:
    """What a crew has with it on a day of the method."""
    page_opens_to(actor, DESK, WHAT)
    method = method_of(method_id)
    second = NeedsForm(request.POST)

    def write() -> str:
        expected = second.cleaned_data["version"] or 0
        try:
            method_equipment_set(method=method, units=second.units(), expected_version=expected, stamp=stamped(actor))
        except Invalid as refusal:
            raise Invalid(refusal.detail, [FieldError("", error.message) for error in refusal.errors]) from refusal
        return "What a crew has with it is saved."

    return below_done(request, _words(actor, method), {"needs": second}, MethodForm.of(method), second, write)


def _facts(method: Method) -> list[tuple[str, str]]:
    """In the words of the form, for who may only look."""
    labels = {name: str(field.label) for name, field in MethodForm.base_fields.items()}
    told = dict(method.facts)
    if told.get("lowest_temp_c"):
        told["lowest_temp_c"] = f"{fahrenheit(float(told['lowest_temp_c'])):.4g}"
    shown = [(name, str(value).replace("|", ", ")) for name, value in told.items() if name in labels and name != "code"]
    return [(labels[name], value) for name, value in shown]


def _words(actor: User, method: Method) -> EditPage:
    may_edit = actor.has_role(*DESK)
    rates = book_rates(method, books_in_force())
    units = {need.equipment.code: need.units_per_crew for need in method.equipment_needs.select_related("equipment")}
    needs = NeedsForm(units=units, version=method.version)
    told = {
        "method": method,
        "rates": rates,
        "needs": needs,
        "may_edit": may_edit,
        "units": units,
        "facts": _facts(method),
    }
    words = EditPage(
        title=method.name.capitalize(),
        button="Save",
        back=reverse("setup-methods"),
        back_words="Methods",
        purpose=PURPOSE,
        row=method if may_edit else None,
        acts=(use_act(method, "setup-method", NO_MORE),) if may_edit else (),
        notices=tuple(method_gaps(method, rates))
        if method.is_active
        else ("No longer in use: offered for no new work.",),
        chips=methods_chips("setup-methods"),
        after=_address(method),
        below="desk/setup/method_more.html",
        more=told,
    )
    return replace(words, cautions=(HERBICIDE,)) if method.uses_herbicide else words
