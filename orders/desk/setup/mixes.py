"""Mixes: what goes into the tank, with one load worked out as it is typed."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from estimating.errors import EstimatingError
from estimating.labels import THE_LAW
from estimating.units import gallons, gallons_per_acre
from orders.common.errors import Invalid, Refusal
from orders.common.models import User
from orders.common.transactions import writing
from orders.desk.navigation import DESK, GROUND, OFFICE, SAFETY, page_opens_to
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
from orders.desk.setup.measured import ML_PER_INCH, kept_history
from orders.desk.setup.mixes_forms import MixForms
from orders.desk.setup.mixes_load import label_words, load_of
from orders.desk.setup.prices import supply_chips
from orders.desk.views.pages import page
from orders.estimates.models import Method
from orders.estimates.services import mix_methods_set
from orders.supplies.labels import parts_of
from orders.supplies.models import Mix
from orders.supplies.selectors import mix_get, mixes
from orders.supplies.services import mix_activate, mix_add, mix_deactivate, mix_edit

WHAT = "Setting mixes up"
PURPOSE = (
    "What goes into the tank and how strong, for area work by gallons an acre or for stems by dose. A method names the "
    "mix that it is done with; estimates, orders and mix cards come of it. Estimates and orders that were made keep "
    "the mix that they were made with."
)
NO_MORE = (
    "Offered as the mix of no method from now on, and no order with it is issued. Estimates, orders and records that "
    "were made with it keep it; it can be put back."
)


@require_safe
@page
def mixes_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE | GROUND, WHAT)
    used: dict[int, list[str]] = {}
    for mix_id, name in Method.objects.exclude(default_mix=None).order_by("name").values_list("default_mix", "name"):
        used.setdefault(mix_id, []).append(name)
    columns = {
        "name": Column("Mix", "name", cell=_name_cell),
        "holds": Column("Holds", cell=_holds),
        "dose": Column("Goes out", cell=_dose),
        "tank": Column("Tank, gal", "tank_l", True, cell=lambda row: f"{gallons(row.tank_l):.3g}"),
        "used": Column("For", cell=lambda row: ", ".join(used.get(row.pk, [])) or "no method yet"),
    }
    listing = Listing(
        title="Mixes",
        about="What goes into the tank. The label on each container governs.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("name", "code", "parts__product__name"),
        cuts=(in_use_cut(),),
        new=reverse("setup-mix-new") if actor.has_role(*SAFETY) else "",
        new_words="Add a mix",
        chips=supply_chips("setup-mixes", actor),
    )
    return list_shown(request, listing, mixes().distinct())


def _address(row: Mix) -> str:
    return reverse("setup-mix", args=[row.public_id])


def _name_cell(row: Mix) -> Cell:
    return Cell(row.name, _address(row), row.code if row.is_active else f"{row.code}, no longer in use")


def _holds(row: Mix) -> str:
    return ", ".join(
        f"{part.product.name} {part.percent_vv:g}%"
        if part.percent_vv is not None
        else f"{part.product.name} {part.rate_l_per_ha:g} L/ha"
        for part in row.parts.all()
    )


def _dose(row: Mix) -> str:
    if row.carrier_l_per_ha is not None:
        return f"{gallons_per_acre(row.carrier_l_per_ha):.3g} gal/acre"
    return f"{ML_PER_INCH.shown(row.stem_dose_ml_per_cm or 0):.3g} mL an inch of stem"


@form_page
@page
def mix_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    return _course(request, actor, None)


@form_page
@page
def mix_page(request: HttpRequest, actor: User, mix_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE | GROUND if request.method in ("GET", "HEAD") else SAFETY, WHAT)
    return _course(request, actor, mix_get(mix_id))


def _forms(request: HttpRequest, actor: User, mix: Mix | None) -> MixForms:
    """Which methods are done with it, the desk says."""
    return MixForms(mix, request.POST if request.method == "POST" else None, names_methods=actor.has_role(*DESK))


def _course(request: HttpRequest, actor: User, mix: Mix | None) -> HttpResponse:
    forms = _forms(request, actor, mix)
    words = _words(actor, mix, forms)
    if mix is not None and not actor.has_role(*SAFETY):
        return edit_shown(request, words, None)
    looked = {"more", "work"} & set(request.POST)
    if request.method != "POST" or looked or not forms.is_valid():
        shown = edit_shown(request, words, forms.form)
        shown.status_code = 400 if request.method == "POST" and not looked else 200
        return shown

    def write() -> str:
        try:
            return _written(actor, mix, forms)
        except Invalid as refusal:
            forms.place(refusal)
            raise

    return edit_done(request, words, forms.form, write)


@writing()
def _written(actor: User, mix: Mix | None, forms: MixForms) -> str:
    stamp = stamped(actor)
    if mix is None:
        kept = mix_add(**forms.values(), stamp=stamp)
        told = f"{kept.name} is added."
    else:
        kept = mix_edit(mix=mix, **forms.values(), expected=forms.form.cleaned_data["version"] or 0, stamp=stamp)
        told = f"{kept.name} is saved. What was made with it before stays as it was."
    if "methods" not in forms.form.fields:
        return told
    named = forms.form.named()
    mix_methods_set(mix=kept, methods=named, stamp=stamp)
    return told if named else f"{told} No method is done with it yet."


def _words(actor: User, mix: Mix | None, forms: MixForms) -> EditPage:
    may_edit = actor.has_role(*SAFETY)
    told = worked(mix, forms) | {"mix": mix, "forms": forms, "may_edit": may_edit}
    told |= {"history": kept_history(mix, forms.form)} if mix is not None else {}
    gone = mix is not None and not mix.is_active
    return EditPage(
        title=mix.name if mix is not None else "A new mix",
        button="Save" if mix is not None else "Add the mix",
        back=reverse("setup-mixes"),
        back_words="Mixes",
        purpose=PURPOSE,
        row=mix if may_edit else None,
        acts=(use_act(mix, "setup-mix", NO_MORE),) if mix is not None and may_edit else (),
        notices=("No longer in use: offered for nothing new.",) if gone else (),
        cautions=(f"Caution. {THE_LAW}",),
        chips=supply_chips("setup-mixes", actor),
        after=_address(mix) if mix is not None else "",
        below="" if may_edit else "desk/setup/mix_load.html",
        modules="desk/parts/live_files.html",
        more=told,
        template="desk/setup/mix.html",
    )


@require_POST
@page
def mix_used(request: HttpRequest, actor: User, mix_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    mix = mix_get(mix_id)

    def write(expected: int, reason: str) -> str:
        verb = mix_activate if is_active else mix_deactivate
        verb(mix=mix, expected=expected, stamp=stamped(actor, reason))
        return f"{mix.name} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        forms = MixForms(mix, names_methods=actor.has_role(*DESK))
        return edit_shown(request, _words(actor, mix, forms), forms.form, refusal)

    return act_done(request, _address(mix), write, shown)


def worked(mix: Mix | None, forms: MixForms) -> dict[str, Any]:
    """One load of what is typed, or of what stands."""
    if forms.form.is_bound:
        if not forms.is_valid():
            return {"load_said": "The load is worked out once every figure can be read."}
        values = forms.values()
    elif mix is not None:
        values = {name: getattr(mix, name) for name in ("tank_l", "carrier_l_per_ha")} | {"parts": parts_of(mix)}
    else:
        return {"load_said": "The load is worked out as you type."}
    try:
        found = load_of(values)
    except EstimatingError as error:
        return {"load_said": f"This cannot be: {error.message}."}
    told = label_words(_done_with(mix, forms), values)
    return {"load_said": found, "label_said": told} if isinstance(found, str) else {"load": found, "label_said": told}


def _done_with(mix: Mix | None, forms: MixForms) -> dict[str, str]:
    """Names of the methods by code: those marked in the form, else those that the mix has."""
    if forms.form.is_bound and "methods" in forms.form.fields:
        return {row.code: row.name for row in forms.form.named()}
    return dict(Method.objects.filter(default_mix=mix).values_list("code", "name")) if mix is not None else {}


@require_POST
@page
def mix_load(request: HttpRequest, actor: User) -> HttpResponse:
    """One load of what is typed; nothing is kept."""
    page_opens_to(actor, SAFETY, WHAT)
    named = request.GET.get("of", "")
    try:
        mix = mix_get(UUID(named)) if named else None
    except ValueError:
        mix = None
    return render(request, "desk/setup/mix_load.html", worked(mix, _forms(request, actor, mix)))
