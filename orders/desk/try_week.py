"""A week's pay on trial: what is typed, and the same figured line by line."""

from typing import Any

from django import forms

from estimating.errors import InvalidFact
from estimating.pay import PayRules, WeekPay, Worked, pay_week
from estimating.pay_types import FEDERAL_WEEK_MINUTES
from orders.costs.pay_words import METHOD_WORDS, ROUNDING_WORDS
from orders.desk.pay_forms import PayForm, dollars, dollars_an_hour, hours

PIECES = 10
DAYS = [(number, f"Day {number + 1}") for number in range(7)]
PARTS = ("day", "minutes", "rate")


class TryRulesForm(PayForm):
    week_minutes = hours("Overtime beyond, hours a week", 40, least=1, initial=FEDERAL_WEEK_MINUTES)
    day_minutes = hours("Beyond, hours a day", 24, required=False)
    day_double_minutes = hours("Double time beyond, hours a day", 24, required=False)
    seventh_day = forms.BooleanField(required=False, label="Seventh day in a row")
    method = forms.ChoiceField(choices=METHOD_WORDS, label="The premium is")
    rounding = forms.ChoiceField(choices=ROUNDING_WORDS, label="Rounding")
    bonus_cents = dollars("Bonus for the week's work, $", required=False)


class TryWeekForm(TryRulesForm):
    """The rules, and rows of (day, hours, rate); a row without hours counts for nothing."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in range(PIECES):
            day = forms.TypedChoiceField(choices=DAYS, coerce=int, initial=min(row, 6), label=f"Day, row {row + 1}")
            self.fields[f"day_{row}"] = day
            self.fields[f"minutes_{row}"] = hours(f"Hours, row {row + 1}", 24, required=False)
            self.fields[f"rate_{row}"] = dollars_an_hour(f"Dollars an hour, row {row + 1}", required=False)

    def rule_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in TryRulesForm.base_fields]

    def rows(self) -> list[dict[str, forms.BoundField]]:
        return [{part: self[f"{part}_{row}"] for part in PARTS} for row in range(PIECES)]

    def week(self) -> tuple[WeekPay, list[Worked]] | None:
        """None where something is wrong, which then stands beside its field."""
        if not self.is_valid():
            return None
        worked = [piece for row in range(PIECES) if (piece := self._piece(row))]
        told = dict(self.cleaned_data)
        bonus_cents = told["bonus_cents"] or 0
        try:
            rules = PayRules(**{name: told[name] for name in TryRulesForm.base_fields if name != "bonus_cents"})
            return pay_week(worked, rules, bonus_cents=bonus_cents), worked
        except InvalidFact as wrong:
            self.add_error(wrong.field if wrong.field in self.fields else None, wrong.message)
            return None

    def _piece(self, row: int) -> Worked | None:
        told = self.cleaned_data
        minutes, rate = told[f"minutes_{row}"], told[f"rate_{row}"]
        return Worked(f"Row {row + 1}", minutes, rate or 0, told[f"day_{row}"]) if minutes else None
