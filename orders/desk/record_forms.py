"""What may be asked of the list of records, and what is sent to the pages of records and rules."""

from typing import Any

from django import forms
from django.db.models import Q, QuerySet

from orders.desk.field_forms import PlacedForm
from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.sites.models import Jurisdiction
from orders.supplies.models import Product
from orders.workorders.models import ApplicationRecord, RecordProfile
from orders.workorders.records.fields import FIELDS
from orders.workorders.records.lists import STATES, in_state, with_product
from orders.workorders.records.rules import FEDERAL, PROGRAM

FIELD_CHOICES = [(field.code, field.name) for field in FIELDS]


class _Day(forms.DateInput):
    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class RecordListForm(PlacedForm):
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Person")
    state = forms.ChoiceField(choices=[("", "Any state"), *STATES], required=False, label="State")
    work_from = forms.DateField(required=False, label="Work from", widget=_Day)
    work_to = forms.DateField(required=False, label="Work to", widget=_Day)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = Product.objects.filter(is_herbicide=True).order_by("name").values_list("code", "name")
        choices = [("", "All products"), *named]
        self.fields["product"] = forms.ChoiceField(choices=choices, required=False, label="Product")

    def rows(self, records: QuerySet[ApplicationRecord]) -> QuerySet[ApplicationRecord]:
        told = asked(self)
        said = {
            "site__code": told["site"],
            "batch__crew__public_id": told["crew"],
            "work_date__gte": told["work_from"],
            "work_date__lte": told["work_to"],
        }
        records = records.filter(**{name: value for name, value in said.items() if value})
        for word in told["q"].split():
            records = records.filter(Q(responsible__name__icontains=word) | Q(signed_by__icontains=word))
        records = with_product(records, told["product"]) if told["product"] else records
        return in_state(records, told["state"]) if told["state"] else records


class HoldForm(forms.Form):
    why = forms.CharField(max_length=300, label="Why it must be kept longer")


class LiftForm(forms.Form):
    why = forms.CharField(max_length=200, label="Why the hold is over")


class ProfileForm(forms.Form):
    """A new rule of a jurisdiction from a day on."""

    jurisdiction = forms.ChoiceField(label="Jurisdiction")
    first_day = forms.DateField(label="For uses from", widget=_Day)
    scope = forms.CharField(required=False, max_length=200, label="Whom and what it binds")
    counts = forms.ChoiceField(choices=RecordProfile.COUNTS, label="The term counts")
    days = forms.IntegerField(min_value=0, max_value=366, label="Days of the term", help_text="0: the day of the use.")
    keep_years = forms.IntegerField(min_value=1, max_value=50, label="Years kept")
    required = forms.MultipleChoiceField(
        choices=FIELD_CHOICES, required=False, label="Required", widget=forms.CheckboxSelectMultiple
    )
    if_applicable = forms.MultipleChoiceField(
        choices=FIELD_CHOICES, required=False, label="Where they apply", widget=forms.CheckboxSelectMultiple
    )
    produce = forms.CharField(required=False, max_length=200, label="To whom a copy is owed, and how soon")
    must_carry_order = forms.BooleanField(required=False, label="Applicators without a certificate carry the order")
    volunteers_may_apply = forms.BooleanField(required=False, label="Trained volunteers may apply, within a permit")
    volunteer_signal_words = forms.CharField(
        required=False, max_length=60, label="Signal words that volunteers may apply", help_text="With spaces between."
    )
    least_age = forms.IntegerField(min_value=18, max_value=99, label="Least age to mix or apply")
    source = forms.CharField(max_length=300, label="Source")
    not_found = forms.CharField(required=False, max_length=300, label="What the source does not tell")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = Jurisdiction.objects.exclude(code=FEDERAL).order_by("name").values_list("code", "name")
        known = RecordProfile.objects.order_by().values_list("jurisdiction", flat=True).distinct()
        named = {code: code for code in sorted(known)} | dict(places)
        named |= {PROGRAM: "Elsewhere: the program's own", FEDERAL: "Federal"}
        choices = list(named.items())
        self.fields["jurisdiction"] = forms.ChoiceField(choices=choices, required=False, label="Jurisdiction")

    def values(self) -> dict[str, Any]:
        """Without what names the rule."""
        told = {name: value for name, value in self.cleaned_data.items() if name not in {"jurisdiction", "first_day"}}
        return {**told, "volunteer_signal_words": told["volunteer_signal_words"].split()}


def profile_initial(profile: RecordProfile) -> dict[str, Any]:
    shown = {name: getattr(profile, name) for name in ProfileForm.base_fields if name != "first_day"}
    return {**shown, "volunteer_signal_words": " ".join(profile.volunteer_signal_words)}
