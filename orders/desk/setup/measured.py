"""Figures typed as labels and sprayers in the United States write them, and kept in metric units.

What was not touched is kept exactly as it stands: only a figure that differs from the one shown is converted.
"""

from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, ClassVar

from django import forms
from django.db.models import Model

from estimating.units import (
    GRAMS_PER_LITRE_PER_LB_PER_GALLON,
    KG_PER_HA_PER_LB_PER_ACRE,
    LITRES_PER_HA_PER_GALLON_PER_ACRE,
    LITRES_PER_US_GALLON,
    METRES_PER_FOOT,
    METRES_PER_INCH,
    celsius,
    fahrenheit,
    metres_a_second,
    miles_an_hour,
)
from orders.desk.setup.history import Line, history_of

SHOWN_DIGITS, KEPT_DIGITS = 4, 7
QUARTS_PER_GALLON = 4


@dataclass(frozen=True)
class Measure:
    """How a kept figure is shown, and a typed one kept."""

    shown: Callable[[float], float]
    kept: Callable[[float], float]


def _by(factor: float) -> Measure:
    """`factor` of the kept unit make one of the shown."""
    return Measure(lambda value: value / factor, lambda value: value * factor)


LB_PER_GALLON = _by(GRAMS_PER_LITRE_PER_LB_PER_GALLON)
LB_PER_ACRE = _by(KG_PER_HA_PER_LB_PER_ACRE)
QUARTS_PER_ACRE = _by(LITRES_PER_HA_PER_GALLON_PER_ACRE / QUARTS_PER_GALLON)
GALLONS_PER_ACRE = _by(LITRES_PER_HA_PER_GALLON_PER_ACRE)
GALLONS = _by(LITRES_PER_US_GALLON)
FEET = _by(METRES_PER_FOOT)
ML_PER_INCH = _by(0.01 / METRES_PER_INCH)  # kept a centimeter of diameter
MPH = Measure(miles_an_hour, metres_a_second)
FAHRENHEIT = Measure(fahrenheit, celsius)


class MeasuredForm(forms.Form):
    """`measures` names fields with how they are shown; `raw` holds what is kept of them."""

    measures: ClassVar[dict[str, Measure]] = {}
    kept_labels: ClassVar[dict[str, str]] = {}  # of the same fields, in the units that they are kept in

    def __init__(self, data: Any = None, *, initial: dict[str, Any] | None = None, prefix: str | None = None) -> None:
        self.raw = dict(initial or {})
        shown = {name: _rounded(measure.shown, self.raw.get(name)) for name, measure in self.own_measures().items()}
        super().__init__(data, initial={**self.raw, **shown}, prefix=prefix)

    def own_measures(self) -> dict[str, Measure]:
        return self.measures

    def kept(self, name: str, measure: Measure | None = None) -> float | None:
        """What is to be kept of a field."""
        value = self.cleaned_data.get(name)
        if value is None:
            return None
        used = measure or self.own_measures()[name]
        stands = self.raw.get(name)
        if stands is not None and value == _rounded(used.shown, stands):
            return float(stands)
        return float(f"{used.kept(value):.{KEPT_DIGITS}g}")


def kept_history(row: Model, form: MeasuredForm) -> list[Line]:
    """The record of changes has kept figures, so that its words name the units that those are in."""
    labels = {name: form.kept_labels.get(name) or str(field.label or "") for name, field in form.fields.items()}
    named = SimpleNamespace(fields={name: SimpleNamespace(label=label) for name, label in labels.items()})
    return history_of(row, named)


def _rounded(shown: Callable[[float], float], value: float | None) -> float | None:
    return None if value is None else float(f"{shown(value):.{SHOWN_DIGITS}g}")


def number(label: str, help_text: str = "", *, required: bool = False, most: float = 100_000) -> forms.FloatField:
    return forms.FloatField(required=required, min_value=0, max_value=most, label=label, help_text=help_text)
