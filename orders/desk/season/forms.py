"""What the page of methods is asked for, and what a season is added or changed with."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.http import urlencode

from orders.desk.forms import asked
from orders.desk.patch_list import FILTERS, PatchListForm, PatchListQuestion
from orders.desk.season_forms import LEVEL_WORDS
from orders.estimates.models import RateBook
from orders.planning.models import Season
from orders.planning.overview import PatchQuestion
from orders.planning.worth import BUDGET_LEVELS, budget_level_name

CENTS = Decimal(100)


class PrescribeForm(PatchListForm):
    """The list's own question for one season, and for whom the work is estimated; or a selection in its place."""

    crew = forms.ChoiceField(choices=RateBook.CREW_KINDS, required=False, label="Worked by")
    selection = forms.CharField(required=False, max_length=20)

    def __init__(self, *args: Any, season: Season, today: date, **kwargs: Any) -> None:
        super().__init__(*args, today=today, **kwargs)
        del self.fields["season"]
        self.season = season

    def question(self) -> PatchListQuestion:
        told = asked(self)
        narrowed = {name: told[name] for name in FILTERS}
        return PatchListQuestion(self.season, PatchQuestion(**narrowed, sort=told["sort"] or "patch"))

    @property
    def crew_kind(self) -> str:
        return self.cleaned_data["crew"] or "staff"

    def address(self) -> str:
        """The query of the address: filters and selection, without the page."""
        said = {name: self.cleaned_data[name] for name in (*FILTERS, "crew", "selection")}
        return urlencode({name: value for name, value in said.items() if value})


class SeasonForm(forms.Form):
    """A season: its days, its money, and how sure that the money lasts."""

    name = forms.CharField(max_length=80, label="Name", help_text="Such as its year: 2027.")
    first_day = forms.DateField(label="First day", widget=forms.DateInput(attrs={"type": "date"}))
    last_day = forms.DateField(label="Last day", widget=forms.DateInput(attrs={"type": "date"}))
    budget = forms.DecimalField(
        required=False,
        min_value=0,
        max_digits=12,
        decimal_places=2,
        label="Budget, $",
        help_text="For all work of the season; empty: no limit. Funds with their own budgets are added afterwards.",
    )
    level = forms.ChoiceField(
        choices=[(name, LEVEL_WORDS[name]) for name in BUDGET_LEVELS],
        initial="likely",
        label="How sure that the budgets last",
    )

    def values(self) -> dict[str, Any]:
        """As planning takes them."""
        told = self.cleaned_data
        budget = None if told["budget"] is None else int(told["budget"] * CENTS)
        return {**{name: told[name] for name in ("name", "first_day", "last_day", "level")}, "budget_cents": budget}


class SeasonEditForm(SeasonForm):
    version = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, season: Season) -> "SeasonEditForm":
        budget = None if season.budget_cents is None else Decimal(season.budget_cents) / CENTS
        stands = {name: getattr(season, name) for name in ("name", "first_day", "last_day", "version")}
        return cls(initial={**stands, "budget": budget, "level": budget_level_name(season.budget_level)})
