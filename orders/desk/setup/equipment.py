"""What crews share: how many there are of each kind, and which methods need them."""

from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.setup.kit import (
    Cell,
    Column,
    EditPage,
    Listing,
    edit_done,
    form_page,
    list_shown,
    stamped,
    version_field,
)
from orders.desk.views.pages import page
from orders.supplies.models import Equipment
from orders.supplies.selectors import equipment, equipment_get
from orders.supplies.services import equipment_add, equipment_edit

WHAT = "Setting equipment up"
PURPOSE = (
    "Things that crews share and of which there are only so many, such as sprayers and saws. A plan never sends out "
    "more of a kind on one day than there are in working order. Which methods need it stands on each method's page."
)


class EquipmentForm(forms.Form):
    code = forms.SlugField(max_length=50, label="Code", help_text="Short, and for good: letters, digits and hyphens.")
    name = forms.CharField(max_length=80, label="Name", help_text="Of one of it, such as Brush saw.")
    count = forms.IntegerField(
        min_value=0, max_value=32_767, label="In working order", help_text="What is in repair does not count."
    )
    notes = forms.CharField(required=False, max_length=200, label="Notes")
    version = version_field()

    @classmethod
    def of(cls, row: Equipment) -> "EquipmentForm":
        form = cls(initial={name: getattr(row, name) for name in ("name", "count", "notes", "version")})
        del form.fields["code"]
        return form

    def values(self) -> dict[str, object]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


@require_safe
@page
def equipment_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    columns = {
        "name": Column("Equipment", "name", cell=lambda row: _name_cell(actor, row)),
        "code": Column("Code", "code", cell=lambda row: row.code),
        "count": Column("In working order", "count", True, cell=lambda row: str(row.count)),
        "needs": Column("A crew has with it", cell=_needs),
        "notes": Column("Notes", cell=lambda row: row.notes),
    }
    listing = Listing(
        title="Equipment",
        about="What crews share. No plan sends out more of it on one day than there is.",
        purpose=PURPOSE,
        columns=columns,
        usual="name",
        searched=("name", "code", "notes"),
        new=reverse("setup-equipment-new") if actor.has_role(*DESK) else "",
        new_words="Add a kind",
    )
    return list_shown(request, listing, equipment().prefetch_related("method_needs__method"))


def _name_cell(actor: User, row: Equipment) -> Cell:
    return Cell(row.name, reverse("setup-equipment-one", args=[row.public_id]) if actor.has_role(*DESK) else "")


def _needs(row: Equipment) -> str:
    told = [f"{need.units_per_crew} for {need.method.name}" for need in row.method_needs.all()]
    return ", ".join(told) or "no method needs it"


@form_page
@page
def equipment_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = EquipmentForm(request.POST or None)

    def write() -> str:
        told = form.cleaned_data
        row = equipment_add(
            code=told["code"], name=told["name"], count=told["count"], notes=told["notes"], stamp=stamped(actor)
        )
        return f"{row.name} is added. Say on each method's page whether a crew needs it."

    words = EditPage("A new kind of equipment", "Add it", reverse("setup-equipment"), "Equipment", PURPOSE)
    return edit_done(request, words, form, write)


@form_page
@page
def equipment_one_page(request: HttpRequest, actor: User, equipment_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = equipment_get(equipment_id)
    form = EquipmentForm.of(row)
    if request.method == "POST":
        form = EquipmentForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        equipment_edit(equipment=row, values=form.values(), expected=expected, stamp=stamped(actor))
        return f"{form.cleaned_data['name']} is saved."

    words = EditPage(row.name, "Save", reverse("setup-equipment"), "Equipment", PURPOSE, row=row)
    return edit_done(request, words, form, write)
