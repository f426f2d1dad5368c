"""Forms of a survey that is typed in. They say nothing of right and wrong: the checks of survey files judge the words,
and what they find is shown beside the fields. People here measure in feet and acres; the checks know meters."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.http import QueryDict

from estimating.cover_classes import SCHEMES
from estimating.units import METRES_PER_FOOT, SQUARE_METRES_PER_ACRE
from orders.common.errors import Refusal
from orders.desk.ground.drawing import as_text
from orders.sites.models import (
    CONTROL_STATES,
    GROUNDS,
    REPRODUCTIVE_CONDITIONS,
    YES_NO_UNKNOWN,
    Survey,
    SurveyComponent,
)
from orders.sites.selectors import growth_forms, species_offered
from orders.sites.services import Sheet
from orders.sites.services.by_hand import MOST_COMPONENTS

# What is typed in feet or acres -> the column of a survey file, and how many of its unit make one.
TYPED_AS = {
    "gross_area_acres": ("gross_area_m2", SQUARE_METRES_PER_ACRE),
    "distance_to_water_ft": ("distance_to_water_m", METRES_PER_FOOT),
    "infested_acres": ("infested_area_m2", SQUARE_METRES_PER_ACRE),
    "height_ft": ("height_m", METRES_PER_FOOT),
    "cut_height_ft": ("cut_height_m", METRES_PER_FOOT),
}
COLUMN_TYPED = {column: name for name, (column, _) in TYPED_AS.items()}
CLASS = "cover_class"
PASTED = {"rows": 3, "spellcheck": "false", "autocomplete": "off"}


def text_field(label: str, help_text: str = "", **more: Any) -> forms.CharField:
    return forms.CharField(required=False, label=label, help_text=help_text, **more)


def number_field(label: str, help_text: str = "") -> forms.CharField:
    return text_field(label, help_text, widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))


def choice_field(label: str, choices: Any, initial: str = "") -> forms.ChoiceField:
    return forms.ChoiceField(required=False, label=label, choices=choices, initial=initial)


def answer_field(label: str, choices: Any = YES_NO_UNKNOWN) -> forms.ChoiceField:
    """Nothing said is not known."""
    return choice_field(label, choices, "unknown")


class Words(forms.Form):
    """Fields that are told as the columns of a survey file."""

    def columns(self) -> dict[str, str]:
        told = {name: str(self.data.get(self.add_prefix(name), "")).strip() for name in self.fields}
        return {TYPED_AS[name][0] if name in TYPED_AS else name: _metric(name, text) for name, text in told.items()}

    def named(self, column: str) -> str:
        """The field that shows a column."""
        return COLUMN_TYPED.get(column, column)


def _metric(name: str, text: str) -> str:
    """Feet and acres as meters; what is no number goes as it is, and is refused by name."""
    if name not in TYPED_AS or not text:
        return text
    try:
        return repr(float(text) * TYPED_AS[name][1])
    except ValueError:
        return text


class PatchForm(Words):
    """What is wanted of a new patch."""

    code = text_field("Code", "Unlike the others of this site.", max_length=40)
    patch_name = text_field("Name", "What people call it; may stay empty.", max_length=120)
    target_cover_percent = number_field("Cover to reach and hold, percent")


class SurveyForm(Words):
    """What was seen of the patch as a whole."""

    outline = text_field("Outline", widget=forms.Textarea(attrs=PASTED))
    observed_on = forms.DateField(required=False, label="Seen on", widget=forms.DateInput(attrs={"type": "date"}))
    observer = text_field("Seen by", max_length=120)
    gross_area_acres = number_field("Area in acres, of a place without an outline", "An outline has its own area.")
    control_state = choice_field("How the control stands", CONTROL_STATES)
    slope_deg = number_field("Slope, degrees")
    ground = answer_field("Ground", GROUNDS)
    wet_ground = answer_field("Wet ground")
    distance_to_water_ft = number_field("Distance to water, feet")
    desirable_tree_roots = answer_field("Desirable trees root here")
    evergreen_natives = answer_field("Evergreen natives")
    spring_ephemerals = answer_field("Spring ephemerals")
    minutes_from_gate = number_field("Walk from the gate, minutes")
    notes = text_field("Notes", widget=forms.Textarea(attrs={"rows": 3}))

    @property
    def facts(self) -> list[forms.BoundField]:
        return [field for field in self if field.name != "outline"]


class ComponentForm(Words):
    """One species in one growth form."""

    species = choice_field("Species", [])
    growth_form = choice_field("Growth form", [])
    cover_percent = number_field("Cover, percent")
    cover_class = choice_field("or a cover class", [])
    infested_percent = number_field("Infested part of the patch, percent", "Empty: all of it.")
    infested_acres = number_field("or infested acres")
    stems_small = number_field("Stems under 1 in (2.5 cm)")
    stems_medium = number_field("Stems 1 to 3 in (2.5 to 7.5 cm)")
    stems_large = number_field("Stems over 3 in (7.5 cm)")
    height_ft = number_field("Height climbed, feet")
    cut_height_ft = number_field("Height of the upper cut, feet", "Where stems that climb are cut a second time.")
    host_trees = number_field("Trees climbed")
    fertile = answer_field("Fertile")
    reproductive_condition = answer_field("Flowers or fruit seen", REPRODUCTIVE_CONDITIONS)

    def __init__(self, *args: Any, known: "Known", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("species", "growth_form", CLASS):
            self.fields[name].choices = getattr(known, name)  # type: ignore[attr-defined]  # of a choice field

    def columns(self) -> dict[str, str]:
        told = super().columns()
        scheme, _, code = told.pop(CLASS).partition(" ")
        return {**told, CLASS: code, "cover_scheme": scheme if code else ""}

    def named(self, column: str) -> str:
        return CLASS if column == "cover_scheme" else super().named(column)

    @property
    def is_blank(self) -> bool:
        told = self.columns()
        return not any(text for name, text in told.items() if name not in {"fertile", "reproductive_condition"})


class Known:
    """The choices of every component, read once."""

    def __init__(self) -> None:
        named = [(row.code, f"{row.common_name.capitalize()} ({row.scientific_name})") for row in species_offered()]
        self.species = [("", "Choose"), *named]
        self.growth_form = [("", "Choose"), *((row.code, row.name) for row in growth_forms())]
        self.cover_class = [("", "No class"), *((name, _scheme_classes(name)) for name in SCHEMES)]


def _scheme_classes(scheme: str) -> list[tuple[str, str]]:
    return [
        (f"{scheme} {one.code}", f"{one.code}: {one.low_percent:g} to {one.high_percent:g}%") for one in SCHEMES[scheme]
    ]


class SurveyEntry:
    """The forms of one survey: the whole, and as many components as somebody asked for."""

    def __init__(self, survey: SurveyForm, components: Sequence[ComponentForm]) -> None:
        self.survey, self.components = survey, list(components)

    @classmethod
    def empty(cls, initial: Mapping[str, Any], components: Sequence[Mapping[str, Any]] = ({},)) -> "SurveyEntry":
        known = Known()
        made = [
            ComponentForm(initial=facts, prefix=f"c{number}", known=known) for number, facts in enumerate(components)
        ]
        return cls(SurveyForm(initial=dict(initial)), made)

    @classmethod
    def typed(cls, data: QueryDict) -> "SurveyEntry":
        """As the form was sent, with a row more or one less where a button asked for that."""
        rows = _rows(data)
        if "more" in data:
            rows.append({})
        if (dropped := data.get("drop", "")).isdecimal() and int(dropped) < len(rows):
            del rows[int(dropped)]
        known, flat = Known(), QueryDict(mutable=True)
        for number, row in enumerate(rows):
            for name, value in row.items():
                flat[f"c{number}-{name}"] = value
        made = [ComponentForm(flat, prefix=f"c{number}", known=known) for number in range(max(1, len(rows)))]
        return cls(SurveyForm(data), made)

    @property
    def count(self) -> int:
        return len(self.components)

    @property
    def may_have_more(self) -> bool:
        return self.count < MOST_COMPONENTS

    def sheet(self, **facts: str) -> Sheet:
        told = self.survey.columns()
        outline = told.pop("outline")
        self.filled = [form for form in self.components if not form.is_blank]
        return Sheet(facts={**told, **facts}, components=[form.columns() for form in self.filled], outline=outline)

    def show(self, refusal: Refusal, *others: Words) -> Refusal:
        """Puts each error beside its field; what is left over is told above the form."""
        left = [error for error in refusal.errors if not self._put(error.field, error.message, error.row, others)]
        detail = (
            f"{refusal.detail} What is wrong stands beside the fields." if refusal.errors != left else refusal.detail
        )
        return type(refusal)(detail, left, refusal.data)

    def _put(self, field: str, message: str, row: int | None, others: Sequence[Words]) -> bool:
        if field.startswith("components.") and row is not None:
            target = (self.filled or self.components)[row - 1]
            return _put(target, field.removeprefix("components."), message)
        return any(_put(form, field, message) for form in (*others, self.survey))


def _put(form: Words, column: str, message: str) -> bool:
    name = form.named(column)
    if name not in form.fields:
        return False
    if name not in form.errors:
        form.add_error(name, message[:1].upper() + message[1:])
    return True


ROW_FIELD = re.compile(r"c(\d{1,2})-(\w+)")


def _rows(data: QueryDict) -> list[dict[str, str]]:
    """The components as they were sent, by number; at most as many as a survey holds."""
    rows: dict[int, dict[str, str]] = {}
    for key, value in data.items():
        if found := ROW_FIELD.fullmatch(key):
            rows.setdefault(int(found[1]), {})[found[2]] = str(value)
    return [rows[number] for number in sorted(rows)][:MOST_COMPONENTS]


def survey_initial(survey: Survey, *, same_day: bool) -> dict[str, Any]:
    """What the form of a next survey starts from: the outline and the lasting facts; to correct one, all of it."""
    names = ("slope_deg", "ground", "wet_ground", "desirable_tree_roots", "evergreen_natives", "spring_ephemerals")
    lasting = {name: getattr(survey, name) for name in (*names, "minutes_from_gate")}
    shown = {"outline": as_text(survey.geometry), "control_state": survey.patch.control_state}
    shown["distance_to_water_ft"] = _us(survey.distance_to_water_m, METRES_PER_FOOT)
    if survey.geometry["type"] == "Point":
        shown["gross_area_acres"] = _us(survey.gross_area_m2, SQUARE_METRES_PER_ACRE)
    own = {"observed_on": survey.observed_on, "observer": survey.observer, "notes": survey.notes} if same_day else {}
    return {**_plain(lasting), **shown, **own}


def component_initial(part: SurveyComponent, *, same_day: bool) -> dict[str, Any]:
    """The species and form that were there; what was measured only where that survey itself is corrected."""
    kind: dict[str, Any] = {"species": part.species.code, "growth_form": part.growth_form.code}
    if not same_day:
        return kind
    names = ("stems_small", "stems_medium", "stems_large", "host_trees", "fertile", "reproductive_condition")
    kind |= _plain({name: getattr(part, name) for name in names})
    kind["height_ft"] = _us(part.height_m, METRES_PER_FOOT)
    kind["cut_height_ft"] = _us(part.cut_height_m, METRES_PER_FOOT)
    kind["infested_acres"] = _us(part.infested_area_m2, SQUARE_METRES_PER_ACRE)
    if part.cover_is_class:
        return {**kind, CLASS: f"{part.cover_scheme} {part.cover_as_entered}"}
    return {**kind, "cover_percent": f"{100 * part.cover_likely:.6g}" if part.cover_as_entered else ""}


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: f"{value:g}" if isinstance(value, float) else value for name, value in values.items()}


def _us(metric: float | None, factor: float) -> str:
    return "" if metric is None else f"{metric / factor:.6g}"


class ReasonForm(forms.Form):
    """Why something is taken back."""

    reason = forms.CharField(label="Reason", max_length=200, help_text="Kept with the change.")


class PatchEditForm(forms.Form):
    name = forms.CharField(required=False, label="Name", max_length=120)
    target_cover_percent = forms.FloatField(min_value=0, max_value=100, label="Cover to reach and hold, percent")
    control_state = forms.ChoiceField(choices=CONTROL_STATES, label="How the control stands")
    version = forms.IntegerField(widget=forms.HiddenInput)
