"""What may be typed about a product and its label, in the units of labels in the United States."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any, ClassVar

from django import forms

from orders.bodies.products import ingredients_read
from orders.common.errors import Refusal
from orders.desk.setup.kit import version_field
from orders.desk.setup.measured import (
    FAHRENHEIT,
    FEET,
    LB_PER_ACRE,
    LB_PER_GALLON,
    MPH,
    QUARTS_PER_ACRE,
    Measure,
    MeasuredForm,
    number,
)
from orders.desk.setup.row_forms import Rows
from orders.estimates.selectors import methods
from orders.sites.selectors import jurisdictions, jurisdictions_offered
from orders.supplies.labels import CapFacts, LabelFacts, UseFacts, WeatherFacts, label_facts
from orders.supplies.models import FORMULATIONS, LabelCap, Product

WHOSE = [
    ("label-mandatory", "The label: must not be passed"),
    ("label-advisory", "The label: advice"),
    ("program-policy", "Program policy"),
]
AREAS = [("treated", "treated acre"), ("infested", "infested acre"), ("gross", "acre of the whole patch")]
PERIODS = [("year", "in a year"), ("application", "in one application")]
SIGNAL_WORDS = [("", "None"), ("CAUTION", "CAUTION"), ("WARNING", "WARNING"), ("DANGER", "DANGER")]
REFERENCE = "The section or page of the label."


def _text(label: str, help_text: str = "", *, most: int = 200, required: bool = False) -> forms.CharField:
    return forms.CharField(required=required, max_length=most, label=label, help_text=help_text)


def _long(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        required=False,
        max_length=4000,
        label=label,
        help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class ProductForm(MeasuredForm):
    """All of a product but its lists. `SECTIONS` is how the page cuts it."""

    measures: ClassVar[dict[str, Measure]] = {"least_water_distance_m": FEET}
    kept_labels: ClassVar[dict[str, str]] = {"least_water_distance_m": "The label's own distance from water, m"}
    code = _text("Code", "Short, and for good: mixes and prices name it.", most=30, required=True)
    name = _text("Name", "As it stands on the container.", most=120, required=True)
    is_herbicide = forms.BooleanField(
        required=False, label="A herbicide", help_text="Unmarked: an adjuvant, dye or oil, which the guard passes over."
    )
    registration_number = _text("Registration number", "On the front of the container: EPA Reg. No.", most=30)
    formulation = forms.ChoiceField(
        required=False, choices=[("", "As is usual for its part"), *FORMULATIONS], label="Goes into the tank as"
    )
    signal_word = forms.ChoiceField(
        required=False, label="Signal word", help_text="In capitals on the front of the label."
    )
    label_version = _text(
        "Version of the label", "Its number or date, mostly in small print on the last page.", most=40
    )
    label_reference = _text("Where the label is", "A file, a folder or an address where the whole of it can be read.")
    reviewed_on = forms.DateField(
        required=False,
        label="Reviewed on",
        help_text="The day on which what stands here was compared with the label. Facts that differ need a new one.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    reviewed_by = _text("Reviewed by", "The pesticide supervisor, or another licensed person.", most=120)
    states = forms.MultipleChoiceField(
        required=False,
        label="Registered in",
        widget=forms.CheckboxSelectMultiple,
        help_text="As the state's list has it.",
    )
    soil_active = forms.BooleanField(
        required=False, label="Acts through the soil", help_text="Then never where roots of wanted trees reach."
    )
    aquatic = forms.BooleanField(required=False, label="The label allows use in water")
    least_water_distance_m = number("The label's own distance from water, feet", "0 where it names none.")
    no_annual_cap = _text(
        "Ingredients with no yearly limit", "Only where the label itself says that it sets none; with commas between."
    )
    rain_free_hours = number("Hours without rain after it", most=1_000)
    restricted_entry_hours = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=10_000,
        label="Restricted-entry interval, hours",
        help_text="Where worker-protection rules apply.",
    )
    entry_rule = _text("Entry elsewhere", "The label's own words for other uses, such as: keep out until dry.")
    protective_equipment = _long("Wear", "Personal protective equipment, as the label asks for it.")
    cautions = _long("Cautions", "First aid and what harms, as the label says it.")
    storage_note = _long("Storage")
    version = version_field()

    SECTIONS = (
        ("The product", ("code", "name", "is_herbicide", "registration_number", "formulation", "signal_word")),
        ("The label and its review", ("label_version", "label_reference", "reviewed_on", "reviewed_by")),
        ("Where", ("states", "aquatic", "least_water_distance_m", "soil_active")),
        (
            "Before, during and after",
            (
                "protective_equipment",
                "cautions",
                "rain_free_hours",
                "restricted_entry_hours",
                "entry_rule",
                "storage_note",
            ),
        ),
    )

    def __init__(self, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        named, offered = {row.code: row.name for row in jurisdictions()}, jurisdictions_offered()
        known = [(row.code, row.name) for row in offered]
        kept = [code for code in self.raw.get("states", ()) if code not in dict(known)]
        self.fields["states"].choices = known + [(code, named.get(code, code)) for code in kept]  # type: ignore[attr-defined]
        word = self.raw.get("signal_word", "")
        words = SIGNAL_WORDS if word in dict(SIGNAL_WORDS) else [*SIGNAL_WORDS, (word, word)]
        self.fields["signal_word"].choices = words  # type: ignore[attr-defined]

    @classmethod
    def of(cls, product: Product, data: Any = None) -> "ProductForm":
        told = {name: getattr(product, name) for name in cls.base_fields if name != "no_annual_cap"}
        form = cls(data, initial=told | {"no_annual_cap": ", ".join(product.no_annual_cap)})
        del form.fields["code"]
        return form

    def sections(self) -> list[tuple[str, list[forms.BoundField]]]:
        return [(words, [self[name] for name in names if name in self.fields]) for words, names in self.SECTIONS]

    def own(self) -> dict[str, Any]:
        names = ("code", "name", "registration_number", "is_herbicide")
        return {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}

    def label(self) -> dict[str, Any]:
        told = {name: value for name, value in self.cleaned_data.items() if name not in {*self.own(), "version"}}
        listed = [word.strip() for word in told["no_annual_cap"].split(",")]
        told["no_annual_cap"] = tuple(word for word in listed if word)
        told["least_water_distance_m"] = self.kept("least_water_distance_m") or 0.0
        return told | {"states": tuple(told["states"])}


class IngredientForm(MeasuredForm):
    measures: ClassVar[dict[str, Measure]] = {"ae_g_per_l": LB_PER_GALLON}
    ingredient = _text("Active ingredient", "As the label names it; empty: no row.", most=60)
    ae_g_per_l = number(
        "Pounds a gallon", "Acid equivalent; of the ingredient where the label states none.", required=True, most=50
    )


def _method_choices(words: str) -> list[tuple[str, str]]:
    return [("", words), *((row.code, row.name.capitalize()) for row in methods() if row.is_active)]


class UseForm(MeasuredForm):
    measures: ClassVar[dict[str, Measure]] = {"max_l_per_ha": QUARTS_PER_ACRE}
    method = forms.ChoiceField(required=False, label="Method")
    max_percent_vv = number("Strongest mix, % by volume", most=100)
    max_l_per_ha = number("Most product in one application, quarts an acre", most=10_000)
    least_days_between = forms.IntegerField(
        required=False, min_value=0, max_value=3_650, label="Days before the same ground again"
    )
    most_uses_a_year = forms.IntegerField(required=False, min_value=1, max_value=366, label="Most times in a year")
    reference = _text("Reference", REFERENCE)

    def __init__(self, data: Any = None, *, choices: Iterable[Any] = (), **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        _keep_choice(self, "method", choices)

    def facts(self) -> UseFacts:
        return UseFacts(**self.cleaned_data | {"max_l_per_ha": self.kept("max_l_per_ha")})


class CapForm(MeasuredForm):
    measures: ClassVar[dict[str, Measure]] = {"kg_ae_per_ha": LB_PER_ACRE}
    ingredient = _text("Ingredient", "Empty: no row.", most=60)
    kg_ae_per_ha = number("At most, pounds of acid equivalent an acre", required=True, most=10_000)
    period = forms.ChoiceField(choices=PERIODS, label="How long")
    area_basis = forms.ChoiceField(choices=AREAS, label="On each")
    year_basis = forms.ChoiceField(choices=LabelCap.YEARS, label="The year is")
    method = forms.ChoiceField(required=False, label="For")
    kind = forms.ChoiceField(choices=WHOSE, label="Whose limit")
    reference = _text("Reference", REFERENCE, required=True)

    def __init__(self, data: Any = None, *, choices: Iterable[Any] = (), **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        _keep_choice(self, "method", choices)

    def facts(self) -> CapFacts:
        return CapFacts(**self.cleaned_data | {"kg_ae_per_ha": self.kept("kg_ae_per_ha")})


class WeatherForm(MeasuredForm):
    """Wind in miles an hour, air in degrees Fahrenheit."""

    measure = forms.ChoiceField(
        required=False,
        choices=[("", "None"), ("wind_m_s", "Wind, miles an hour"), ("temperature_c", "Air, °F")],
        label="Of what",
    )
    low = forms.FloatField(required=False, min_value=-100, max_value=200, label="At least")
    high = forms.FloatField(required=False, min_value=-100, max_value=200, label="At most")
    kind = forms.ChoiceField(choices=WHOSE, label="Whose limit")
    reference = _text("Reference", REFERENCE, required=True)

    def own_measures(self) -> dict[str, Measure]:
        measure = self.raw.get("measure")
        return dict.fromkeys(("low", "high"), MPH if measure == "wind_m_s" else FAHRENHEIT) if measure else {}

    def facts(self) -> WeatherFacts:
        told = self.cleaned_data
        if told["measure"] != self.raw.get("measure"):
            self.raw = {}
        used = MPH if told["measure"] == "wind_m_s" else FAHRENHEIT
        return WeatherFacts(**told | {name: self.kept(name, used) for name in ("low", "high")})


def _keep_choice(form: MeasuredForm, name: str, choices: Iterable[Any]) -> None:
    """What stands there stays a choice, even where the program has no such word any more."""
    listed, stands = list(choices), form.raw.get(name, "")
    form.fields[name].choices = listed if stands in dict(listed) else [*listed, (stands, stands)]  # type: ignore[attr-defined]


class ProductForms:
    """A product with the lists of its label as one form."""

    def __init__(self, product: Product | None, data: Any = None) -> None:
        label = LabelFacts() if product is None else label_facts(product)
        self.form = ProductForm(data) if product is None else ProductForm.of(product, data)
        held = [{"ingredient": name, "ae_g_per_l": amount} for name, amount in label.ingredients.items()]
        uses, caps, weather = ([asdict(row) for row in rows] for rows in (label.uses, label.caps, label.weather))
        named = _method_choices("None")
        every = _method_choices("All uses")
        self.ingredients = Rows("ingredients", IngredientForm, data, held, "ingredient", 1)
        self.uses = Rows("uses", UseForm, data, uses, "method", 1, choices=named)
        self.caps = Rows("caps", CapForm, data, caps, "ingredient", 1, choices=every)
        self.weather = Rows("weather", WeatherForm, data, weather, "measure", 1)

    @property
    def uncapped(self) -> list[forms.BoundField]:
        return [self.form["no_annual_cap"]]

    @property
    def lists(self) -> list[Rows]:
        return [self.ingredients, self.uses, self.caps, self.weather]

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), *[rows.is_valid() for rows in self.lists]])

    def label(self) -> LabelFacts:
        pairs = [(row.cleaned_data["ingredient"], row.kept("ae_g_per_l")) for row in self.ingredients.used]
        return LabelFacts(
            **self.form.label(),
            ingredients=ingredients_read(pairs),
            uses=tuple(row.facts() for row in self.uses.used),
            caps=tuple(row.facts() for row in self.caps.used),
            weather=tuple(row.facts() for row in self.weather.used),
        )

    def place(self, refusal: Refusal) -> None:
        for rows in self.lists:
            rows.place(refusal)


class ReviewForm(forms.Form):
    reviewed_on = forms.DateField(label="Compared on", widget=forms.DateInput(attrs={"type": "date"}))
    reviewed_by = forms.CharField(
        max_length=120, label="By", help_text="The pesticide supervisor, or another licensed person."
    )
    has_compared = forms.BooleanField(label="What stands here was compared with the label, line by line")
    version = version_field()


class DocumentForm(forms.Form):
    kind = forms.ChoiceField(choices=[("label", "Label"), ("sds", "Safety data sheet")], label="What it is")
    language = forms.ChoiceField(choices=[("en", "English"), ("es", "Spanish")], label="Language")
    file = forms.FileField(
        max_length=300,
        label="File",
        help_text="The whole label or sheet as a PDF, or as plain text; 5 MB at most.",
        widget=forms.FileInput(attrs={"accept": ".pdf,.txt,application/pdf,text/plain"}),
    )
