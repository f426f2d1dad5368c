"""What may be typed about a mix and the products in it."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms
from django.db.models import Q

from orders.common.errors import Invalid
from orders.desk.setup.kit import version_field
from orders.desk.setup.measured import (
    GALLONS,
    GALLONS_PER_ACRE,
    ML_PER_INCH,
    QUARTS_PER_ACRE,
    Measure,
    MeasuredForm,
    number,
)
from orders.desk.setup.row_forms import Rows
from orders.estimates.models import Method
from orders.estimates.selectors import methods
from orders.supplies.labels import PartFacts, parts_of
from orders.supplies.models import Mix, Product

BASES = [("infested", "The infested area"), ("canopy", "The area under the canopy of the stems")]
PARTS = [("herbicide", "Herbicide"), ("adjuvant", "Adjuvant"), ("dye", "Marker dye"), ("oil", "Oil")]


class MixForm(MeasuredForm):
    measures: ClassVar[dict[str, Measure]] = {
        "tank_l": GALLONS,
        "carrier_l_per_ha": GALLONS_PER_ACRE,
        "stem_dose_ml_per_cm": ML_PER_INCH,
    }
    kept_labels: ClassVar[dict[str, str]] = {
        "tank_l": "Tank, liters",
        "carrier_l_per_ha": "Mix on the ground, L/ha",
        "stem_dose_ml_per_cm": "Dose to a stem, mL a centimeter of diameter",
    }
    code = forms.CharField(max_length=30, label="Code", help_text="Short, and for good: methods and orders name it.")
    name = forms.CharField(max_length=120, label="Name", help_text="What it is for and how strong, as crews say it.")
    tank_l = number("Tank, gallons", "What one load holds; crews mix by the load.", required=True)
    area_basis = forms.ChoiceField(choices=BASES, label="Sprayed ground is")
    carrier_l_per_ha = number("Mix on the ground, gallons an acre", "As your sprayer is calibrated. For area work.")
    stem_dose_ml_per_cm = number(
        "Dose to a stem, mL an inch of diameter", "For work stem by stem instead.", most=10_000
    )
    methods = forms.MultipleChoiceField(
        required=False,
        label="Methods that are done with it",
        widget=forms.CheckboxSelectMultiple,
        help_text="A method is done with one mix: marked here, it leaves the one that it had.",
    )
    version = version_field()

    def __init__(self, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.known = {row.code: row for row in methods() if row.uses_herbicide and row.is_active}
        self.fields["methods"].choices = [  # type: ignore[attr-defined]
            (code, f"{row.name.capitalize()}{f', now with {row.default_mix.name}' if row.default_mix else ''}")
            for code, row in self.known.items()
        ]

    @classmethod
    def of(cls, mix: Mix, data: Any = None) -> "MixForm":
        names = ("name", "tank_l", "area_basis", "carrier_l_per_ha", "stem_dose_ml_per_cm", "version")
        form = cls(data, initial={name: getattr(mix, name) for name in names})
        form.initial["methods"] = [code for code, row in form.known.items() if row.default_mix_id == mix.pk]
        del form.fields["code"]
        return form

    def values(self) -> dict[str, Any]:
        told = {name: self.cleaned_data[name] for name in ("code", "name", "area_basis") if name in self.cleaned_data}
        return told | {name: self.kept(name) for name in self.measures}

    def named(self) -> list[Method]:
        return [self.known[code] for code in self.cleaned_data["methods"]]


class PartForm(MeasuredForm):
    """One product in the mix; a row without a product is passed over."""

    measures: ClassVar[dict[str, Measure]] = {"rate_l_per_ha": QUARTS_PER_ACRE}
    product = forms.ChoiceField(required=False, label="Product")
    part = forms.ChoiceField(choices=PARTS, label="As")
    percent_vv = number("Percent of the mix, by volume", most=100)
    rate_l_per_ha = number("or quarts an acre")

    def __init__(self, data: Any = None, *, products: Sequence[Product] = (), **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        listed = [(row.code, row.name if row.is_active else f"{row.name}, no longer in use") for row in products]
        self.fields["product"].choices = [("", "None"), *listed]  # type: ignore[attr-defined]

    def facts(self, known: dict[str, Product]) -> PartFacts:
        told = self.cleaned_data
        return PartFacts(
            product=known[told["product"]],
            part=told["part"],
            percent_vv=told["percent_vv"],
            rate_l_per_ha=self.kept("rate_l_per_ha"),
        )


class MixForms:
    """A mix and its parts as one."""

    def __init__(self, mix: Mix | None, data: Any = None, *, names_methods: bool = True) -> None:
        held = [] if mix is None else mix.parts.values("product")
        offered = Product.objects.filter(Q(is_active=True) | Q(pk__in=held))
        self.known = {product.code: product for product in offered.order_by("name")}
        self.form = MixForm(data) if mix is None else MixForm.of(mix, data)
        if not names_methods:
            del self.form.fields["methods"]
        stands = [] if mix is None else [self._initial(part) for part in parts_of(mix)]
        self.parts = Rows("parts", PartForm, data, stands, "product", products=list(self.known.values()))

    @staticmethod
    def _initial(part: PartFacts) -> dict[str, Any]:
        names = ("part", "percent_vv", "rate_l_per_ha")
        return {name: getattr(part, name) for name in names} | {"product": part.product.code}

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), self.parts.is_valid()])

    def values(self) -> dict[str, Any]:
        return self.form.values() | {"parts": [part.facts(self.known) for part in self.parts.used]}

    def place(self, refusal: Invalid) -> None:
        self.parts.place(refusal)
