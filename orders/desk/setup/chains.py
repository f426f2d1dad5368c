"""Chains of treatment: what comes after a method, how long after, and where the figures come from."""

from typing import Any
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
    in_use_cut,
    list_shown,
    stamped,
    version_field,
)
from orders.desk.setup.methods import methods_chips
from orders.desk.views.pages import page
from orders.estimates.models import Method
from orders.planning.chain_rules import chain_rule_add, chain_rule_edit
from orders.planning.models import ChainRule
from orders.planning.selectors import chain_rule_get, chain_rules

WHAT = "Setting chains up"
PURPOSE = (
    "What comes after a method: a second pass, a check, the treatment of regrowth. When a patch is prescribed, its "
    "later steps are prescribed with it, each within its days after the work before, and each takes a share of its own "
    "estimate. Rules of one purpose after one step are alternatives, in the order of their codes. What a rule has made "
    "stays as it is."
)
MOST_DAYS = 3_650


class ChainForm(forms.Form):
    code = forms.SlugField(max_length=50, label="Code", help_text="Alternatives are tried in the order of their codes.")
    after = forms.ModelChoiceField(Method.objects.order_by("name"), to_field_name="code", label="After this method")
    after_purpose = forms.ChoiceField(
        required=False,
        choices=[("", "The first work"), *ChainRule.PURPOSES],
        label="Where that served",
        help_text="A later step of a chain may have steps of its own.",
    )
    species = forms.ChoiceField(choices=ChainRule.SPECIES, label="For these species")
    purpose = forms.ChoiceField(choices=ChainRule.PURPOSES, label="What comes after it serves")
    method = forms.ModelChoiceField(Method.objects.order_by("name"), to_field_name="code", label="By this method")
    least_days = forms.IntegerField(min_value=0, max_value=MOST_DAYS, label="Days after it, at least")
    most_days = forms.IntegerField(min_value=0, max_value=MOST_DAYS, label="Days after it, at most")
    share = forms.FloatField(
        min_value=0,
        max_value=1,
        label="Share of its own estimate",
        help_text="0.3 takes three tenths of what the method would take on the patch as surveyed.",
    )
    source = forms.CharField(max_length=300, label="Source", help_text="Where the days and the share come from.")
    is_active = forms.BooleanField(required=False, label="In use", help_text="One that is not makes no more steps.")
    version = version_field()

    @classmethod
    def of(cls, rule: ChainRule) -> "ChainForm":
        names = [name for name in cls.base_fields if name not in {"after", "method", "code"}]
        told = {name: getattr(rule, name) for name in names} | {"after": rule.after.code, "method": rule.method.code}
        form = cls(initial=told)
        del form.fields["code"]
        return form

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


@require_safe
@page
def chains_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    may_edit = actor.has_role(*DESK)
    columns = {
        "after": Column("After", "after__name", cell=lambda row: _after_cell(row, may_edit)),
        "then": Column("Then", "method__name", cell=_then_cell),
        "days": Column("Days after", "least_days", cell=lambda row: f"{row.least_days} to {row.most_days}"),
        "share": Column("Share", "share", True, cell=lambda row: f"{100 * row.share:g}%"),
        "species": Column("Species", "species", cell=lambda row: row.get_species_display()),
        "source": Column("Source", cell=lambda row: row.source),
    }
    listing = Listing(
        title="Chains",
        about="What comes after a method, and when.",
        purpose=PURPOSE,
        columns=columns,
        usual="after",
        searched=("code", "after__name", "method__name", "source"),
        cuts=(in_use_cut(),),
        new=reverse("setup-chain-new") if may_edit else "",
        new_words="Add a rule",
        chips=methods_chips("setup-chains"),
    )
    return list_shown(request, listing, chain_rules())


def _after_cell(row: ChainRule, may_edit: bool) -> Cell:
    served = f"as {row.get_after_purpose_display().lower()}, " if row.after_purpose else ""
    address = reverse("setup-chain", args=[row.public_id]) if may_edit else ""
    return Cell(row.after.name.capitalize(), address, f"{served}{row.code}")


def _then_cell(row: ChainRule) -> Cell:
    return Cell(row.method.name.capitalize(), quiet=row.get_purpose_display().lower())


@form_page
@page
def chain_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = ChainForm(request.POST or None, initial={"share": 1})
    del form.fields["is_active"]

    def write() -> str:
        chain_rule_add(**form.values(), stamp=stamped(actor))
        return "The rule is added. It counts for what is prescribed from now on."

    return edit_done(request, _words("A new rule", "Add the rule"), form, write)


@form_page
@page
def chain_page(request: HttpRequest, actor: User, rule_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    rule = chain_rule_get(rule_id)
    form = ChainForm.of(rule)
    if request.method == "POST":
        form = ChainForm(request.POST)
        del form.fields["code"]

    def write() -> str:
        expected = form.cleaned_data["version"] or 0
        chain_rule_edit(rule=rule, values=form.values(), expected=expected, stamp=stamped(actor))
        return "The rule is saved. What it has made stays as it is."

    return edit_done(request, _words(f"Rule {rule.code}", "Save", rule), form, write)


def _words(title: str, button: str, rule: ChainRule | None = None) -> EditPage:
    back, chips = reverse("setup-chains"), methods_chips("setup-chains")
    return EditPage(title, button, back, "Chains", PURPOSE, row=rule, chips=chips)
