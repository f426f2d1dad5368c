"""What may be set for a season: how sure its budgets are to last, what work is worth, and its funds."""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from django import forms

from orders.planning.models import Season, SeasonFund
from orders.planning.worth import BUDGET_LEVELS, Weights
from orders.sites.models import Site
from orders.sites.selectors import sites

CENTS = Decimal(100)
WEIGHT_WORDS = {
    "control": ("Any work", "Times its own cost. Above 1 all that is asked for is worth doing."),
    "area_cents_m2": ("Ground treated", "Cents a square meter."),
    "seed": ("A seed deadline met", "Times the cost of the work that meets it."),
    "sooner": ("An early seed deadline", "Times the cost, for one on the season's first day; less, the later it is."),
    "may_fruit": ("If it may fruit", "Where nobody knows: the share of the two before that counts."),
    "edge": ("The edge of spread", "Times the cost, for the patch farthest out at its site."),
    "owed": ("Work that is begun", "Times the cost: follow-ups, what is left over, ground under treatment."),
}
LEVEL_WORDS = {
    "likely": "Likely: it may run over as easily as not",
    "cautious": "Cautious: it lasts in 8 of 10 seasons",
    "near certain": "Near certain: it lasts in 19 of 20 seasons",
}


class LevelForm(forms.Form):
    level = forms.ChoiceField(
        choices=[(name, LEVEL_WORDS[name]) for name in BUDGET_LEVELS], label="How sure that the budgets last"
    )
    version = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, season: Season) -> "LevelForm":
        named = {value: name for name, value in BUDGET_LEVELS.items()}
        return cls(initial={"level": named.get(season.budget_level), "version": season.version})


class WorthForm(forms.Form):
    """One field for each weight; empty is as usual."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, usual in asdict(Weights()).items():
            label, words = WEIGHT_WORDS[name]
            help_text = f"{words} Usually {usual:g}."
            described = forms.NumberInput(attrs={"step": "any", "aria-describedby": f"id_{name}_helptext"})
            self.fields[name] = forms.FloatField(
                min_value=0, required=False, label=label, help_text=help_text, widget=described
            )
        self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, season: Season) -> "WorthForm":
        return cls(initial={**asdict(Weights.of(season)), "version": season.version})

    def worth(self) -> dict[str, float]:
        told = self.cleaned_data
        return {name: told[name] for name in WEIGHT_WORDS if told[name] is not None}


class FundForm(forms.Form):
    """A fund of a season: what it may pay, where and until when."""

    code = forms.SlugField(max_length=50, label="Code", help_text="The code of the fund in the books, such as CITY.")
    name = forms.CharField(max_length=120, label="Name")
    budget = forms.DecimalField(min_value=0, max_digits=12, decimal_places=2, label="Budget, $")
    first_day = forms.DateField(required=False, label="Pays from", widget=forms.DateInput(attrs={"type": "date"}))
    last_day = forms.DateField(required=False, label="Pays until", widget=forms.DateInput(attrs={"type": "date"}))

    def __init__(self, *args: Any, fund: SeasonFund | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_code = {site.code: site for site in sites()}
        self.fields["sites"] = forms.MultipleChoiceField(
            choices=[(code, f"{code} {site.name}") for code, site in self.by_code.items()],
            required=False,
            label="Sites",
            help_text="None ticked: it pays for all sites that no other fund pays for.",
            widget=forms.CheckboxSelectMultiple,
        )
        if fund is not None:
            del self.fields["code"]
            self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def of(cls, fund: SeasonFund) -> "FundForm":
        stands = {name: getattr(fund, name) for name in ("name", "first_day", "last_day", "version")}
        listed = [site.code for site in fund.sites.all()]
        return cls(fund=fund, initial={**stands, "budget": Decimal(fund.budget_cents) / CENTS, "sites": listed})

    def values(self) -> dict[str, Any]:
        """As planning takes them: cents, and sites as rows."""
        told = dict(self.cleaned_data)
        told.pop("version", None)
        held: list[Site] = [self.by_code[code] for code in told.pop("sites")]
        budget_cents = int(told.pop("budget") * CENTS)
        return {**told, "budget_cents": budget_cents, "sites": held}


class RemoveForm(forms.Form):
    reason = forms.CharField(max_length=200, label="Why is it removed?")
    version = forms.IntegerField(widget=forms.HiddenInput)
