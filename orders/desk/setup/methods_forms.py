"""What may be typed about a method: the facts that suitability, windows and estimates read."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms

from estimating.inputs import GROWTH_FORMS
from estimating.methods import SEASON_RULES, SIZES
from orders.crews.selectors import qualification_kind_by_code, qualification_kinds
from orders.desk.setup.kit import version_field
from orders.desk.setup.measured import FAHRENHEIT, Measure, MeasuredForm
from orders.estimates.models import Method
from orders.supplies.models import Equipment
from orders.supplies.selectors import equipment, mix_by_code, mixes

FLAGS = ("uses_herbicide", "needs_license", "treats_stems", "removes_fruit", "kills_roots", "wet_ground_allowed")
TEXTS = ("name", "season_rule", "smallest_use", "summary", "source")
NUMBERS = ("lowest_temp_c", "highest_slope_deg", "needs_follow_up_days")
SIZE_WORDS = {"any": "Patches of any size", "small": "Small patches only", "large": "Large patches only"}


def _flag(label: str, help_text: str = "") -> forms.BooleanField:
    return forms.BooleanField(required=False, label=label, help_text=help_text)


class MethodForm(MeasuredForm):
    measures: ClassVar[dict[str, Measure]] = {"lowest_temp_c": FAHRENHEIT}
    kept_labels: ClassVar[dict[str, str]] = {"lowest_temp_c": "Lowest temperature, °C"}
    code = forms.SlugField(max_length=20, label="Code", help_text="Short, and for good: rate books and labels name it.")
    name = forms.CharField(max_length=60, label="Name", help_text="In lower case, as within a sentence.")
    summary = forms.CharField(max_length=300, label="In one sentence", help_text="It stands on orders.")
    growth_forms = forms.MultipleChoiceField(
        choices=[(form, form.capitalize()) for form in GROWTH_FORMS],
        label="Growth forms that it can treat",
        widget=forms.CheckboxSelectMultiple,
    )
    treats_stems = _flag("Works stem by stem")
    removes_fruit = _flag("Removes the fruit", "When it is done, no fruit is left on the plant.")
    kills_roots = _flag("Kills the roots", "What was treated does not simply come back.")
    uses_herbicide = _flag("Uses herbicide", "It then needs a mix, a license where the law asks for one, and a label.")
    needs_license = _flag("Needs a license")
    qualification = forms.ChoiceField(
        required=False,
        label="License or training",
        help_text="Planned only for crews with somebody who holds it.",
    )
    mix = forms.ChoiceField(required=False, label="Mix that it is done with")
    season_rule = forms.ChoiceField(
        choices=[(rule, rule.capitalize()) for rule in SEASON_RULES],
        label="When",
        help_text="Windows come of this rule and the site's own calendar.",
    )
    lowest_temp_c = forms.FloatField(
        min_value=-76, max_value=122, label="Lowest temperature, °F", help_text="A label may ask for more."
    )
    highest_slope_deg = forms.FloatField(
        min_value=0, max_value=90, label="Steepest slope, degrees", help_text="20 degrees is a slope of 36%."
    )
    wet_ground_allowed = _flag("May be done on wet ground", "What a label says of water holds besides.")
    smallest_use = forms.ChoiceField(choices=[(size, SIZE_WORDS[size]) for size in SIZES], label="Worth setting up for")
    needs_follow_up_days = forms.IntegerField(
        min_value=0, max_value=3_650, label="Look again after, days", help_text="When a follow-up is due by itself."
    )
    source = forms.CharField(
        max_length=300, label="Source", help_text="Where these facts come from; “common practice” where it is that."
    )
    version = version_field()

    def __init__(self, data: Any = None, *, method: Method | None = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        own = method.default_mix_id if method is not None else None
        licenses = [(kind.code, kind.name) for kind in qualification_kinds()]
        known = [(mix.code, mix.name) for mix in mixes() if mix.is_active or mix.pk == own]
        self.fields["qualification"].choices = [("", "None"), *licenses]  # type: ignore[attr-defined]
        self.fields["mix"].choices = [("", "None"), *known]  # type: ignore[attr-defined]

    @classmethod
    def of(cls, method: Method) -> "MethodForm":
        facts = method.facts
        told: dict[str, Any] = {name: str(facts.get(name, "")) for name in (*TEXTS, *NUMBERS)}
        told["lowest_temp_c"] = float(told["lowest_temp_c"]) if told["lowest_temp_c"] else None
        told |= {name: str(facts.get(name, "")).strip().lower() == "yes" for name in FLAGS}
        told["growth_forms"] = [form.strip() for form in str(facts.get("growth_forms", "")).split("|")]
        told["qualification"] = method.qualification.code if method.qualification else ""
        told["mix"] = method.default_mix.code if method.default_mix else ""
        form = cls(initial=told | {"version": method.version}, method=method)
        del form.fields["code"]
        return form

    def facts(self) -> dict[str, str]:
        """As a row of the methods file has it."""
        told = self.cleaned_data
        row = {name: str(told[name]).strip() for name in TEXTS}
        row |= {name: f"{told[name]:g}" for name in NUMBERS}
        row["lowest_temp_c"] = f"{self.kept('lowest_temp_c'):g}"
        row |= {name: "yes" if told[name] else "no" for name in FLAGS}
        return row | {"code": told.get("code", ""), "growth_forms": "|".join(told["growth_forms"])}

    def named(self) -> dict[str, Any]:
        """The rows that the form names by their codes."""
        kind, mix = self.cleaned_data["qualification"], self.cleaned_data["mix"]
        return {
            "qualification": qualification_kind_by_code(kind) if kind else None,
            "mix": mix_by_code(mix) if mix else None,
        }


class NeedsForm(forms.Form):
    """How many of each kind of equipment a crew has with it on a day of the method."""

    version = version_field()

    def __init__(self, data: Any = None, *, units: Mapping[str, int] | None = None, version: int = 0) -> None:
        super().__init__(data, auto_id="needs_%s")
        self.kinds = list(equipment())
        self.initial["version"] = version
        for kind in self.kinds:
            self.fields[f"of-{kind.code}"] = forms.IntegerField(
                required=False,
                min_value=0,
                max_value=1_000,
                label=kind.name,
                initial=(units or {}).get(kind.code),
                help_text=f"Of {kind.count} in working order.",
            )

    def units(self) -> dict[Equipment, int]:
        told = {kind: self.cleaned_data[f"of-{kind.code}"] or 0 for kind in self.kinds}
        return {kind: count for kind, count in told.items() if count}
