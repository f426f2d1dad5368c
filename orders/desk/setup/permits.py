"""Volunteers' permits: who was trained for which products on which land, and until when."""

from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.dateformat import format as date_words
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.crews.models import Person
from orders.desk.navigation import GROUND, SAFETY, page_opens_to
from orders.desk.setup.kit import (
    Cell,
    Column,
    Cut,
    EditPage,
    Listing,
    edit_done,
    form_page,
    list_shown,
    stamped,
    version_field,
)
from orders.desk.setup.prices import supply_chips
from orders.desk.views.pages import page
from orders.sites.models import Site
from orders.supplies.models import Product, VolunteerPermit
from orders.supplies.permits import permit_add, permit_edit, permit_get, permits

WHAT = "Volunteers' permits"
PURPOSE = (
    "A trained volunteer may apply the products named on the land named until a day, and never mixes. Other products "
    "or other land need another permit with its own training. It ends with its calendar year at the latest."
)
CAUTION = (
    "Caution. Whether volunteers may apply herbicide at all, the state's rules and the label say, and a licensed "
    "person decides. A permit here says only that the program trained somebody."
)


def _day(label: str, help_text: str = "") -> forms.DateField:
    return forms.DateField(label=label, help_text=help_text, widget=forms.DateInput(attrs={"type": "date"}))


class PermitForm(forms.Form):
    person = forms.ModelChoiceField(
        Person.objects.filter(is_active=True), to_field_name="public_id", label="Who", empty_label="Choose"
    )
    products = forms.ModelMultipleChoiceField(
        Product.objects.filter(is_herbicide=True, is_active=True),
        to_field_name="public_id",
        label="Products",
        widget=forms.CheckboxSelectMultiple,
    )
    sites = forms.ModelMultipleChoiceField(
        Site.objects.defer("boundary"), to_field_name="public_id", label="Sites", widget=forms.CheckboxSelectMultiple
    )
    trained_by = forms.CharField(max_length=120, label="Trained by", help_text="A licensed person.")
    trained_on = _day("Trained on")
    first_day = _day("First day", "On or after the training.")
    last_day = _day("Last day", "December 31 of the same year at the latest.")
    certificate = forms.CharField(required=False, max_length=40, label="Number of the certificate")


class PermitEditForm(forms.Form):
    last_day = _day("Last day", "An earlier day ends the permit.")
    certificate = forms.CharField(required=False, max_length=40, label="Number of the certificate")
    version = version_field()


def _today(actor: User) -> date:
    return stamped(actor).local_date(settings.PROGRAM_TIME_ZONE)


@require_safe
@page
def permits_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    today, may_edit = _today(actor), actor.has_role(*SAFETY)
    columns = {
        "person": Column("Volunteer", "person__name", cell=lambda row: _name_cell(row, may_edit)),
        "products": Column("Products", cell=lambda row: ", ".join(one.name for one in row.products.all())),
        "sites": Column("Sites", cell=lambda row: ", ".join(one.name for one in row.sites.all())),
        "trained": Column("Trained", "trained_on", cell=_trained_cell),
        "last": Column("Until", "last_day", cell=lambda row: date_words(row.last_day, "M j, Y")),
        "state": Column("State", cell=lambda row: _state_cell(today, row)),
    }
    listing = Listing(
        title="Volunteers' permits",
        about="Who was trained for which products on which land. A permit lets nobody mix.",
        purpose=PURPOSE,
        columns=columns,
        usual="-last",
        searched=("person__name", "certificate", "trained_by"),
        cuts=(Cut("when", "Show", [("", "In force or later"), ("all", "All")], _of_when(today)),),
        new=reverse("setup-permit-new") if may_edit else "",
        new_words="Add a permit",
        chips=supply_chips("setup-permits", actor),
    )
    return list_shown(request, listing, permits())


def _of_when(today: date) -> Any:
    def cut(rows: QuerySet[VolunteerPermit], value: str) -> QuerySet[VolunteerPermit]:
        return rows if value == "all" else rows.filter(last_day__gte=today)

    return cut


def _name_cell(row: VolunteerPermit, may_edit: bool) -> Cell:
    return Cell(row.person.name, reverse("setup-permit", args=[row.public_id]) if may_edit else "", row.certificate)


def _trained_cell(row: VolunteerPermit) -> Cell:
    return Cell(date_words(row.trained_on, "M j, Y"), quiet=f"by {row.trained_by}")


def _state_cell(today: date, row: VolunteerPermit) -> Cell:
    if row.last_day < today:
        return Cell("ended", state="off")
    return Cell("later", state="wait") if row.first_day > today else Cell("in force", state="good")


@form_page
@page
def permit_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    form = PermitForm(request.POST or None)

    def write() -> str:
        told = dict(form.cleaned_data)
        told |= {name: list(told[name]) for name in ("products", "sites")}
        row = permit_add(**told, stamp=stamped(actor))
        return f"The permit of {row.person.name} is added."

    return edit_done(request, _words("A new permit", "Add the permit"), form, write)


@form_page
@page
def permit_page(request: HttpRequest, actor: User, permit_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    row = permit_get(permit_id)
    kept = {name: getattr(row, name) for name in ("last_day", "certificate", "version")}
    form = PermitEditForm(request.POST or None, initial=kept)

    def write() -> str:
        told = {name: form.cleaned_data[name] for name in ("last_day", "certificate")}
        permit_edit(permit=row, values=told, expected=form.cleaned_data["version"] or 0, stamp=stamped(actor))
        return "The permit is saved."

    products, sites = (", ".join(str(one) for one in rows.all()) for rows in (row.products, row.sites))
    notice = f"{products} at {sites}. Trained by {row.trained_by} on {row.trained_on}; from {row.first_day} on."
    return edit_done(request, _words(f"Permit of {row.person.name}", "Save", row, notice), form, write)


def _words(title: str, button: str, row: VolunteerPermit | None = None, notice: str = "") -> EditPage:
    return EditPage(
        title=title,
        button=button,
        back=reverse("setup-permits"),
        back_words="Volunteers' permits",
        purpose=f"{PURPOSE} {notice}".strip(),
        row=row,
        cautions=(CAUTION,),
        chips=supply_chips("setup-permits"),
    )
