"""A close-out typed from paper, or stated anew: what was done by patch, hours by person, material by lot."""

import re
from collections.abc import Sequence
from datetime import date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django import forms

from estimating.units import celsius, fahrenheit, metres_a_second, miles_an_hour
from orders.supplies.amounts import ENTRY_UNITS
from orders.workorders.models import CloseOut
from orders.workorders.statements import MaterialStated, Outcome, TimeStated

CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)")
EVENING = time(17)
SIGNED = {"type": "time"}
Choices = Sequence[tuple[str, str]]


def _day_input() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class WorkedField(forms.CharField):
    """Hours as people write them on paper: 7:30, 7.5 or 7,5; minutes when it is read."""

    def clean(self, value: Any) -> int | None:
        said = (super().clean(value) or "").replace(",", ".")
        if not said:
            return None
        if found := CLOCK.fullmatch(said):
            return int(found[1]) * 60 + int(found[2])
        try:
            return round(float(said) * 60)
        except (ValueError, OverflowError) as error:
            raise forms.ValidationError("Write hours as 7:30 or 7.5.") from error


def worked_words(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02d}"


class HeadForm(forms.Form):
    """Who stated it, when, and what the day was like."""

    work_date = forms.DateField(label="Last day of work", widget=_day_input())
    signed_at = forms.TimeField(label="Signed at", widget=forms.TimeInput(attrs=SIGNED, format="%H:%M"))
    confirmed_by = forms.CharField(max_length=120, label="Confirmed by", help_text="Who signed the paper.")
    condition = forms.CharField(max_length=200, required=False, label="Condition of the ground")
    air_f = forms.FloatField(required=False, min_value=-76, max_value=140, label="Air, °F")
    wind_mph = forms.FloatField(required=False, min_value=0, max_value=220, label="Wind, mph")
    follow_up_wanted = forms.BooleanField(required=False, label="A follow-up is wanted")
    notes = forms.CharField(max_length=4_000, required=False, label="Notes", widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, amends: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if amends:
            self.fields["reason"] = forms.CharField(
                max_length=300, label="Why it is stated anew", help_text="Kept with the close-out, for good."
            )
            self.order_fields(["reason"])

    @classmethod
    def stands(cls, close_out: CloseOut, zone: str) -> dict[str, Any]:
        local = close_out.happened_at.astimezone(ZoneInfo(zone))
        air, wind = close_out.weather.get("air_temperature_c"), close_out.weather.get("wind_m_s")
        same = ("work_date", "confirmed_by", "condition", "follow_up_wanted", "notes")
        return {
            **{name: getattr(close_out, name) for name in same},
            "signed_at": local.time().replace(second=0, microsecond=0),
            "air_f": None if air is None else round(fahrenheit(air), 1),
            "wind_mph": None if wind is None else round(miles_an_hour(wind), 1),
        }

    def moment(self, zone: str) -> datetime:
        told = self.cleaned_data
        return datetime.combine(told["work_date"], told["signed_at"], ZoneInfo(zone))

    def weather(self, stated: dict[str, Any]) -> dict[str, Any]:
        """What the paper says of it; a figure that nobody touched stays as it was measured."""
        found = dict(stated)
        turned = (("air_f", "air_temperature_c", celsius), ("wind_mph", "wind_m_s", metres_a_second))
        for name, stored, turn in turned:
            if name in self.changed_data:
                found.pop(stored, None)
                if self.cleaned_data[name] is not None:
                    found[stored] = round(turn(self.cleaned_data[name]), 2)
        return found


class OutcomeForm(forms.Form):
    """How far one patch got. What a crew drew of it on a tablet stays with it."""

    percent = forms.IntegerField(min_value=0, max_value=100, label="Percent done")
    stems = forms.IntegerField(required=False, min_value=0, max_value=1_000_000, label="Stems cut")

    def stated(self, prescription: UUID, was: Outcome | None) -> Outcome:
        told = self.cleaned_data
        area, drawn = (was.area_done_m2, was.drawn) if was else (None, None)
        return Outcome(prescription, told["percent"], told["stems"], area, drawn)


class RowForm(forms.Form):
    """A row of paper; one without its amount is left out."""

    amount_name = ""

    def __init__(self, *args: Any, choices: dict[str, Choices], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, listed in choices.items():
            if name in self.fields:
                self.fields[name].choices = listed  # type: ignore[attr-defined]  # choice fields all

    @property
    def is_said(self) -> bool:
        return self.cleaned_data.get(self.amount_name) is not None

    def _work(self) -> UUID | None:
        named = self.cleaned_data["work"]
        return UUID(named) if named else None


class TimeForm(RowForm):
    amount_name = "worked"
    visit = forms.ChoiceField(label="Visit")
    person = forms.ChoiceField(required=False, label="Who")
    worked = WorkedField(required=False, max_length=8, label="Hours")
    work = forms.ChoiceField(required=False, label="On")
    work_date = forms.DateField(required=False, label="On another day", widget=_day_input())
    step = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)
    origin = forms.CharField(required=False, max_length=10, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("worked") is not None and not told.get("person"):
            self.add_error("person", "Say whose hours these are.")
        return told

    def stated(self) -> TimeStated:
        """Hours that somebody typed are typed; those left as they stood keep where they came from."""
        told = self.cleaned_data
        origin = told["origin"] if told["origin"] and "worked" not in self.changed_data else "typed"
        return TimeStated(
            visit=UUID(told["visit"]),
            person=UUID(told["person"]),
            minutes=told["worked"],
            origin=origin,
            prescription=self._work(),
            step=told["step"],
            work_date=told["work_date"],
        )


class MaterialForm(RowForm):
    amount_name = "value"
    visit = forms.ChoiceField(label="Visit")
    lot = forms.ChoiceField(required=False, label="Product and lot")
    value = forms.DecimalField(required=False, min_value=0, max_digits=12, decimal_places=4, label="Amount")
    unit = forms.ChoiceField(choices=[(unit, unit) for unit in ENTRY_UNITS], label="Unit", initial="fl oz")
    work = forms.ChoiceField(required=False, label="On")
    work_date = forms.DateField(required=False, label="On another day", widget=_day_input())

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("value") is not None and not told.get("lot"):
            self.add_error("lot", "Say which lot it came from.")
        return told

    def stated(self) -> MaterialStated:
        told = self.cleaned_data
        return MaterialStated(
            visit=UUID(told["visit"]),
            lot=UUID(told["lot"]),
            value=told["value"],
            unit=told["unit"],
            prescription=self._work(),
            work_date=told["work_date"],
        )


def times_stand(close_out: CloseOut) -> list[dict[str, Any]]:
    return [
        {
            "visit": str(row.visit.public_id),
            "person": str(row.person.public_id),
            "worked": worked_words(row.minutes),
            "work": str(row.prescription.public_id) if row.prescription else "",
            "work_date": _other_day(row.work_date, row.visit.day),
            "step": row.step,
            "origin": row.origin,
        }
        for row in close_out.time_entries.all()
    ]


def materials_stand(close_out: CloseOut) -> list[dict[str, Any]]:
    return [
        {
            "visit": str(row.visit.public_id),
            "lot": str(row.lot.public_id),
            "value": row.entered_value.normalize(),
            "unit": row.entered_unit,
            "work": str(row.prescription.public_id) if row.prescription else "",
            "work_date": _other_day(row.work_date, row.visit.day),
        }
        for row in close_out.material_uses.all()
    ]


def _other_day(day: date, usual: date) -> date | None:
    return None if day == usual else day
