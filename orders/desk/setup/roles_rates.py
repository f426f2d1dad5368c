"""Labor roles with their standard rates by date, and the kinds of qualification."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders.common.models import User
from orders.common.transactions import writing
from orders.crews.models import LaborRole, QualificationKind
from orders.crews.selectors import (
    kinds_counted,
    labor_role_get,
    labor_roles,
    qualification_kind_get,
    roles_counted,
    standard_rates,
    standard_rates_set,
)
from orders.crews.services import (
    labor_role_add,
    labor_role_edit,
    qualification_kind_add,
    qualification_kind_edit,
    standard_rate_set,
)
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.setup.kit import (
    Cell,
    Column,
    EditPage,
    Listing,
    below_done,
    edit_done,
    edit_shown,
    form_page,
    list_shown,
    stamped,
)
from orders.desk.setup.people import people_chips, today_of
from orders.desk.setup.people_forms import KindForm, RateForm, RatesForm, RoleForm
from orders.desk.setup.usual import INVENTED, rates_suggested
from orders.desk.views.pages import page

WHAT = "Setting roles and qualifications up"
SETS_RATES = DESK | {"finance"}
ROLE = (
    "What a person is on a crew. Rate books say which role does which work, and a role's standard rate prices it in "
    "estimates. What a person is paid is another thing, and stays with finance."
)
BURDENED = "A rate is fully burdened: wage, taxes, benefits, and paid time off shared out over the hours worked."
SUGGESTED = (
    "Roles without a rate have an invented figure in their field, so that a first season can be tried. Put your "
    "payroll's figures in their place, and say so under Source."
)
NO_ROLE = "There is no labor role yet: add one first, or load the reference methods."
KIND = (
    "What somebody may be licensed or trained for. A method that asks for one is planned only for crews with somebody "
    "who holds it. Which license a method needs, the law of the place and the label say."
)


@require_safe
@page
def roles_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    rates = standard_rates(today_of(actor))
    columns = {
        "name": Column("Labor role", "name", cell=lambda row: Cell(row.name, _role_address(row))),
        "code": Column("Code", "code", cell=lambda row: row.code),
        "rate": Column("Standard rate today", is_number=True, cell=lambda row: _rate_cell(rates, row)),
        "people": Column("People", "people_count", is_number=True, cell=lambda row: str(row.people_count)),
    }
    listing = Listing(
        title="Roles and rates",
        about="Labor roles and what an hour of each costs in estimates. What anybody is paid stays with finance.",
        purpose=ROLE,
        columns=columns,
        usual="name",
        searched=("name", "code"),
        new=reverse("setup-role-new") if actor.has_role(*DESK) else "",
        new_words="Add a role",
        above="desk/setup/rates_all.html" if actor.has_role(*SETS_RATES) else "",
        chips=people_chips("setup-roles"),
    )
    return list_shown(request, listing, roles_counted())


def _role_address(row: LaborRole) -> str:
    return reverse("setup-role", args=[row.public_id])


def _rate_cell(rates: Mapping[str, int], row: LaborRole) -> Cell:
    rate_e4 = rates.get(row.code)
    return Cell("none yet", state="bad") if rate_e4 is None else Cell(f"${rate_e4 / 10_000:,.2f}/h")


@form_page
@page
def role_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = RoleForm(request.POST or None)

    def write() -> str:
        role = labor_role_add(**form.values(), stamp=stamped(actor))
        return f"{role.name} is added. Give it a standard rate on its own page."

    words = EditPage("A new labor role", "Add the role", reverse("setup-roles"), "Roles and rates", ROLE)
    return edit_done(request, words, form, write)


@form_page
@page
def role_page(request: HttpRequest, actor: User, role_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE if request.method != "POST" else DESK, WHAT)
    role = labor_role_get(role_id)
    form = RoleForm.of(role)
    if request.method == "POST":
        form = RoleForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        read = form.cleaned_data["version"] or ""
        labor_role_edit(role=role, values=form.values(), read=read, stamp=stamped(actor))
        return f"{form.cleaned_data['name']} is saved."

    words = _role_words(actor, role)
    return edit_done(request, words, form, write) if actor.has_role(*DESK) else edit_shown(request, words, None)


def _role_words(actor: User, role: LaborRole) -> EditPage:
    told: dict[str, Any] = {"role": role, "rates": standard_rates_set().filter(role=role)}
    if actor.has_role(*SETS_RATES):
        told["rate_form"] = RateForm(auto_id="rate_%s", initial={"from_day": today_of(actor)})
    return EditPage(
        title=role.name,
        button="Save",
        back=reverse("setup-roles"),
        back_words="Roles and rates",
        purpose=ROLE,
        row=role if actor.has_role(*DESK) else None,
        after=_role_address(role),
        chips=people_chips("setup-roles"),
        below="desk/setup/role_rates.html",
        more=told,
    )


@require_POST
@page
def role_rated(request: HttpRequest, actor: User, role_id: UUID) -> HttpResponse:
    page_opens_to(actor, SETS_RATES, "Setting standard rates")
    role, form = labor_role_get(role_id), RateForm(request.POST, auto_id="rate_%s")

    def write() -> str:
        rate = standard_rate_set(role=role, **form.values(), stamp=stamped(actor))
        return f"{role.name} costs ${rate.rate_e4 / 10_000:,.2f} an hour from {rate.from_day:%B %-d, %Y}."

    first = RoleForm.of(role) if actor.has_role(*DESK) else None
    return below_done(request, _role_words(actor, role), {"rate_form": form}, first, form, write)


@form_page
@page
def rates_page(request: HttpRequest, actor: User) -> HttpResponse:
    """The rates of all roles at once: all that are entered are set, or none."""
    page_opens_to(actor, SETS_RATES, "Setting standard rates")
    roles, today = list(labor_roles()), today_of(actor)
    rated = standard_rates(today)
    suggested = rates_suggested([role for role in roles if role.code not in rated])
    initial: dict[str, Any] = {"from_day": today, **{f"rate_{key}": rate for key, rate in suggested.items()}}
    initial |= {"source": INVENTED} if suggested else {}
    form = RatesForm(request.POST or None, roles=roles, initial=initial)
    notices = [SUGGESTED] if suggested else [] if roles else [NO_ROLE]

    @writing()
    def write() -> str:
        told, rates = form.cleaned_data, form.rates()
        for role, rate_e4 in rates:
            standard_rate_set(
                role=role, from_day=told["from_day"], rate_e4=rate_e4, source=told["source"], stamp=stamped(actor)
            )
        return f"{len(rates)} rate{'' if len(rates) == 1 else 's'} set from {told['from_day']:%B %-d, %Y}."

    words = EditPage(
        title="Rates of all roles",
        button="Set the rates",
        back=reverse("setup-roles"),
        back_words="Roles and rates",
        purpose=f"{ROLE} {BURDENED}",
        notices=notices,
        chips=people_chips("setup-roles"),
    )
    return edit_done(request, words, form, write)


@require_safe
@page
def kinds_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today = today_of(actor)
    columns = {
        "name": Column(
            "Qualification", "name", cell=lambda row: Cell(row.name, reverse("setup-kind", args=[row.public_id]))
        ),
        "code": Column("Code", "code", cell=lambda row: row.code),
        "license": Column(
            "License or training", "is_license", cell=lambda row: "license" if row.is_license else "training"
        ),
        "holders": Column("Held today", "held_count", is_number=True, cell=lambda row: str(row.held_count)),
    }
    listing = Listing(
        title="Qualification kinds",
        about="Licenses and trainings that methods may ask for.",
        purpose=KIND,
        columns=columns,
        usual="name",
        searched=("name", "code"),
        new=reverse("setup-kind-new") if actor.has_role(*DESK) else "",
        new_words="Add a kind",
        chips=people_chips("setup-kinds"),
    )
    return list_shown(request, listing, kinds_counted(today))


def _kind_words(title: str, button: str, row: QualificationKind | None = None) -> EditPage:
    back, chips = reverse("setup-kinds"), people_chips("setup-kinds")
    return EditPage(title, button, back, "Qualification kinds", KIND, row=row, chips=chips)


@form_page
@page
def kind_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = KindForm(request.POST or None)

    def write() -> str:
        return f"{qualification_kind_add(**form.values(), stamp=stamped(actor)).name} is added."

    return edit_done(request, _kind_words("A new kind of qualification", "Add the kind"), form, write)


@form_page
@page
def kind_page(request: HttpRequest, actor: User, kind_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    kind = qualification_kind_get(kind_id)
    form = KindForm.of(kind)
    if request.method == "POST":
        form = KindForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        read = form.cleaned_data["version"] or ""
        qualification_kind_edit(kind=kind, values=form.values(), read=read, stamp=stamped(actor))
        return f"{form.cleaned_data['name']} is saved."

    return edit_done(request, _kind_words(kind.name, "Save", kind), form, write)
