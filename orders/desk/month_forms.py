"""What is sent to the pages of a month's end: who agreed and why, codes of outer accounts, files."""

from typing import Any

from django import forms

from orders.common.errors import Refusal
from orders.costs.services.periods import Outsider
from orders.costs.words import ACCOUNT_WORDS, CATEGORY_WORDS

FILE_BYTES = 1_000_000
OUTSIDER_FIELDS = ("outside_name", "outside_organization", "outside_how")


class ConfirmForm(forms.Form):
    """The second person's word. The three fields are for a program with one desk."""

    outside_name = forms.CharField(max_length=120, required=False, label="Name of somebody outside who agreed")
    outside_organization = forms.CharField(max_length=120, required=False, label="Their organization")
    outside_how = forms.CharField(
        max_length=200, required=False, label="How they agreed", help_text="A letter, a call, a meeting, and its day."
    )

    def outsider(self) -> Outsider | None:
        """Where any of the three is given; whether all are is the service's to say."""
        told = [self.cleaned_data.get(name, "").strip() for name in OUTSIDER_FIELDS]
        return Outsider(*told) if any(told) else None


class WhyForm(forms.Form):
    reason = forms.CharField(max_length=300, label="Why it has to be opened again")


class MappingForm(forms.Form):
    """`fund` and `award` are chosen from what there is when the form is made."""

    account = forms.ChoiceField(choices=ACCOUNT_WORDS, label="Our account")
    fund = forms.ChoiceField(required=False, label="Fund")
    award = forms.ChoiceField(required=False, label="Award")
    category = forms.ChoiceField(choices=[("", "All categories"), *CATEGORY_WORDS], required=False, label="Category")
    outer_code = forms.CharField(max_length=60, label="Outer code")
    outer_name = forms.CharField(max_length=120, required=False, label="Outer name")

    def __init__(self, *args: Any, funds: list[Any], awards: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chosen: Any = self.fields["fund"]
        chosen.choices = [("", "All funds"), *((str(fund.public_id), fund.name) for fund in funds)]
        chosen = self.fields["award"]
        chosen.choices = [("", "All awards"), *((str(award.public_id), award.name) for award in awards)]


class CodeForm(forms.Form):
    outer_code = forms.CharField(max_length=60, label="Outer code")
    outer_name = forms.CharField(max_length=120, required=False, label="Outer name")
    version = forms.IntegerField(widget=forms.HiddenInput)


class MappingFileForm(forms.Form):
    file = forms.FileField(
        label="CSV file", help_text="Columns: account, fund, award, category, outer_code, outer_name."
    )

    def clean_file(self) -> str:
        sent = self.cleaned_data["file"]
        if sent.size > FILE_BYTES:
            raise forms.ValidationError("The file is larger than 1 MB.")
        try:
            return str(sent.read().decode("utf-8"))
        except UnicodeDecodeError as error:
            raise forms.ValidationError("The file is not text in UTF-8.") from error


def refusal_place(form: forms.Form, refusal: Refusal, names: dict[str, str] | None = None) -> Refusal | None:
    """Put a refusal's errors beside their fields; None where all of them found a place."""
    renamed = names or {}
    left = False
    for error in refusal.errors:
        field = renamed.get(error.field, error.field)
        if field in form.fields:
            form.add_error(field, error.message)
        else:
            left = True
    return refusal if left or not refusal.errors else None
