"""What may be typed about pay: dollars, hours and percent as people write them, read into whole small units."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms
from django.db.models import QuerySet

from estimating.burden import YEAR_HOURS, loaded_rate_e4
from estimating.errors import InvalidFact
from estimating.pay_types import FEDERAL_WEEK_MINUTES
from orders.common.errors import Refusal
from orders.costs.pay_words import MATCH_KIND_WORDS, METHOD_WORDS, ROUNDING_WORDS, SPREAD_WORDS
from orders.crews.selectors import labor_roles, people
from orders.desk.forms import LABEL_CHARACTERS
from orders.desk.site_forms import day_field
from orders.sites.selectors import jurisdictions_offered

WEEKDAYS = list(enumerate(("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")))
PUNCHES = [(0, "Not rounded"), (5, "To 5 minutes"), (6, "To a tenth of an hour"), (15, "To a quarter of an hour")]
PAID = people().exclude(person_type="volunteer")


@dataclass(frozen=True)
class Loaded:
    """A wage with what comes on top of it, and the rate that it gives."""

    wage_e4: int
    fringe_e4: int
    yearly_cents: int
    paid_hours: int
    productive_hours: int
    rate_e4: int


class Scaled(forms.DecimalField):
    """A decimal of a big unit, read as a whole number of a small one."""

    def __init__(self, *, scale: int, places: int, **more: Any) -> None:
        super().__init__(min_value=more.pop("least", 0), max_digits=9, decimal_places=places, **more)
        self.scale = scale

    def clean(self, value: Any) -> Any:
        typed = super().clean(value)
        return None if typed is None else int((Decimal(typed) * self.scale).to_integral_value(ROUND_HALF_UP))

    def prepare_value(self, value: Any) -> Any:
        """Of an initial value in the small unit; what was typed stays as it was typed."""
        if not isinstance(value, int):
            return value
        text = f"{Decimal(value) / self.scale:.4f}".rstrip("0").rstrip(".")
        return text or "0"


def one_of(rows: QuerySet[Any], key: str, **more: Any) -> forms.Field:
    return forms.ModelChoiceField(queryset=rows, to_field_name=key, **{"empty_label": "Choose", **more})


def dollars_an_hour(label: str, **more: Any) -> Scaled:
    return Scaled(scale=10_000, places=4, max_value=10_000, label=label, **more)


def percent(label: str, **more: Any) -> Scaled:
    return Scaled(scale=100, places=2, max_value=500, label=label, **more)


def dollars(label: str, **more: Any) -> Scaled:
    return Scaled(scale=100, places=2, max_value=1_000_000, label=label, **more)


def hours(label: str, most: int, **more: Any) -> Scaled:
    return Scaled(scale=60, places=2, max_value=most, label=label, **more)


class PayForm(forms.Form):
    """`values` are what its verb is called with; `wrong` puts what the verb refused beside its field."""

    def values(self) -> dict[str, Any]:
        return self.cleaned_data

    def wrong(self, refusal: Refusal) -> None:
        for error in refusal.errors:
            self.add_error(error.field if error.field in self.fields else None, error.message)
        if not refusal.errors:
            self.add_error(None, refusal.detail)


class PersonSearchForm(forms.Form):
    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Person")

    @property
    def is_narrowed(self) -> bool:
        return bool(self.is_valid() and self.cleaned_data["q"])


class RatePersonForm(forms.Form):
    """Whose rate the form is filled in with."""

    person = forms.UUIDField(required=False)


class RateForm(PayForm):
    person = one_of(PAID, "public_id", label="Person")
    role = one_of(
        labor_roles(),
        "code",
        required=False,
        empty_label="In any role",
        label="Role",
        help_text="A role's own rate goes before the one for any role.",
    )
    from_day = day_field("From")
    wage_e4 = dollars_an_hour("Wage, $ an hour", required=False, help_text="As paid. Overtime is figured from it.")
    fringe_e4 = percent("Fringe, % of the wage", required=False, help_text="Payroll taxes, leave, pension.")
    yearly_cents = dollars("Fixed cost, $ a year", required=False, help_text="Such as health cover.")
    paid_hours = forms.IntegerField(required=False, min_value=1, max_value=8784, label="Paid hours a year")
    productive_hours = forms.IntegerField(
        required=False, min_value=1, max_value=8784, label="Productive hours", help_text="Less leave and holidays."
    )
    rate_e4 = dollars_an_hour(
        "Rate, $ an hour", required=False, help_text="What an hour costs. Leave it empty to figure it from the wage."
    )

    def figured(self) -> Loaded | None:
        """What the wage comes to, without keeping it; None where something is wrong, which then stands at its field."""
        if not self.is_valid():
            return None
        told = self.cleaned_data
        if told["wage_e4"] is None:
            self.add_error("wage_e4", "A wage is needed to figure a rate from.")
            return None
        paid_hours = told["paid_hours"] or YEAR_HOURS
        terms = {
            "fringe_e4": told["fringe_e4"] or 0,
            "yearly_cents": told["yearly_cents"] or 0,
            "paid_hours": paid_hours,
            "productive_hours": told["productive_hours"] or paid_hours,
        }
        try:
            return Loaded(told["wage_e4"], **terms, rate_e4=loaded_rate_e4(told["wage_e4"], **terms))
        except InvalidFact as wrong:
            self.add_error(wrong.field, wrong.message)
            return None


class PolicyForm(PayForm):
    from_day = day_field("From")
    week_starts_on = forms.TypedChoiceField(choices=WEEKDAYS, coerce=int, initial=6, label="The workweek starts on")
    week_starts_minute = hours(
        "and at, hours after midnight",
        23,
        required=False,
        help_text="A fixed week of 168 hours.",
    )
    time_zone = forms.CharField(max_length=40, label="Clock", help_text="Such as America/Chicago.")
    overtime_method = forms.ChoiceField(choices=METHOD_WORDS, label="The premium is")
    rounding = forms.ChoiceField(choices=ROUNDING_WORDS, label="Rounding")
    spread = forms.ChoiceField(choices=SPREAD_WORDS, label="The premium is borne")
    punch_minutes = forms.TypedChoiceField(choices=PUNCHES, coerce=int, label="Punches")
    premium_fringe_e4 = percent("Payroll taxes on the premium, %", required=False)
    comp_time = forms.BooleanField(
        required=False, label="Time off may be given instead of the premium", help_text="Public agencies alone may."
    )
    source = forms.CharField(max_length=200, label="Source", help_text="The handbook, or the decision.")

    def values(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        zeros = {name: told[name] or 0 for name in ("week_starts_minute", "premium_fringe_e4")}
        return told | zeros


class OvertimeRuleForm(PayForm):
    jurisdiction = one_of(
        jurisdictions_offered(), "code", required=False, empty_label="Everywhere (federal)", label="Where"
    )
    from_day = day_field("From")
    week_minutes = hours(
        "Time and a half beyond, hours a week",
        40,
        least=1,
        initial=FEDERAL_WEEK_MINUTES,
        help_text="40 at the most: federal law.",
    )
    day_minutes = hours("Time and a half beyond, hours a day", 24, required=False)
    day_double_minutes = hours("Double time beyond, hours a day", 24, required=False)
    seventh_day = forms.BooleanField(required=False, label="Time and a half on the seventh day in a row")
    reviewed_by = forms.CharField(
        required=False,
        max_length=120,
        label="Reviewed by",
        help_text="The payroll professional who compared it with the law.",
    )
    source = forms.CharField(max_length=200, label="Source")


class CompTimeForm(PayForm):
    person = one_of(PAID, "public_id", label="Person")
    first_day = day_field("From")
    last_day = forms.DateField(
        required=False, label="Until", widget=forms.DateInput(attrs={"type": "date"}), help_text="Empty: it runs on."
    )
    reference = forms.CharField(max_length=200, label="Where the agreement is kept")


class CompTimeEndForm(PayForm):
    last_day = day_field("Last day")


class MatchRateForm(PayForm):
    person_type = forms.ChoiceField(choices=MATCH_KIND_WORDS, label="Whose hours")
    role = one_of(labor_roles(), "code", label="Role")
    from_day = day_field("From")
    rate_e4 = dollars_an_hour("Rate, $ an hour", help_text="What the program pays for such work, without fringe.")
    fringe_e4 = percent("Fringe, %", required=False)
    source = forms.CharField(max_length=200, label="Whose pay it is taken from")

    def values(self) -> dict[str, Any]:
        return {**self.cleaned_data, "fringe_e4": self.cleaned_data["fringe_e4"] or 0}
