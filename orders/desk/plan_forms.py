"""What a plan is asked for with: how hard it is looked for, and what a what-if assumes."""

from typing import Any
from uuid import UUID

from django import forms

from orders.crews.models import Crew
from orders.desk.plan_words import BY_CODE, SEARCHES, Search
from orders.planning.what_if import WhatIf

MOST_CREWS = 3
MOST_SEED = 2**31 - 1
MOST_ROUNDS = 10_000_000
MOST_EXACT_WORK = 3_600.0


class PlanForm(forms.Form):
    """A new plan. The same season, search and seed give the same plan."""

    prefix = "plan"
    search = forms.ChoiceField(
        choices=[(search.code, f"{search.words}: {search.help}") for search in SEARCHES],
        initial="usual",
        label="How hard to search",
    )
    seed = forms.IntegerField(
        min_value=0,
        max_value=MOST_SEED,
        required=False,
        label="Seed",
        help_text="Another number searches along other ways; 0 is as good as any.",
        widget=forms.NumberInput(attrs={"aria-describedby": "id_plan-seed_helptext"}),
    )
    rounds = forms.IntegerField(
        min_value=0,
        max_value=MOST_ROUNDS,
        required=False,
        label="Rounds of improvement",
        help_text="In place of what the words above mean.",
        widget=forms.NumberInput(attrs={"aria-describedby": "id_plan-rounds_helptext"}),
    )
    exact = forms.FloatField(
        min_value=0,
        max_value=MOST_EXACT_WORK,
        required=False,
        label="Work of the exact solver",
        help_text="In its own seconds, which are the same on any machine.",
        widget=forms.NumberInput(attrs={"step": "any", "aria-describedby": "id_plan-exact_helptext"}),
    )
    ADVANCED = ("rounds", "exact", "seed")

    @property
    def plain_fields(self) -> list[forms.BoundField]:
        return [field for field in self if field.name not in self.ADVANCED]

    @property
    def advanced_fields(self) -> list[forms.BoundField]:
        """Numbers that are folded away: the words mean enough of them for most."""
        return [field for field in self if field.name in self.ADVANCED]

    @property
    def has_advanced_errors(self) -> bool:
        return any(field.errors for field in self.advanced_fields)

    @property
    def level(self) -> Search:
        return BY_CODE[self.cleaned_data["search"]]

    def asks(self) -> dict[str, Any]:
        """What planning is handed."""
        level, told = self.level, self.cleaned_data
        rounds, exact = told.get("rounds"), told.get("exact")
        return {
            "iterations": level.iterations if rounds is None else rounds,
            "exact_work": level.exact_work if exact is None else exact,
            "seed": told.get("seed") or 0,
        }


class AgainForm(PlanForm):
    """The plan made again, with as little moved as can be."""

    prefix = "again"
    seed = rounds = exact = None  # type: ignore[assignment]  # as Django takes fields away


class WhatIfForm(PlanForm):
    """A plan that is only looked at."""

    prefix = "what"
    seed = rounds = exact = None  # type: ignore[assignment]
    extra_crews = forms.IntegerField(min_value=0, max_value=MOST_CREWS, initial=0, label="More crews")
    budget_percent = forms.FloatField(
        min_value=10, max_value=200, initial=100, label="Budget, % of what it is", widget=forms.NumberInput({"step": 1})
    )
    no_herbicide = forms.BooleanField(required=False, label="No herbicide: other methods where one fits")
    saturdays = forms.BooleanField(required=False, label="More days: every crew works on Saturdays too")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        crews = Crew.objects.filter(is_active=True).order_by("name")
        listed = [("", "The crew that works most"), *((str(crew.public_id), crew.name) for crew in crews)]
        self.fields["like_crew"] = forms.ChoiceField(choices=listed, required=False, label="Like which crew")
        self.order_fields(["search", "extra_crews", "like_crew", "budget_percent", "no_herbicide", "saturdays"])
        self.initial.setdefault("search", "quick")

    def clean(self) -> dict[str, Any]:
        """Something must differ, or it would be the plan itself."""
        told = super().clean() or self.cleaned_data
        if not self.errors and not self.what().words():
            self.add_error("extra_crews", "Change the crews, their days, the budget or the use of herbicide.")
        return told

    def what(self) -> WhatIf:
        told = self.cleaned_data
        return WhatIf(
            extra_crews=told["extra_crews"],
            like_crew=UUID(told["like_crew"]) if told["like_crew"] and told["extra_crews"] else None,
            budget_percent=told["budget_percent"],
            no_herbicide=told["no_herbicide"],
            saturdays=told["saturdays"],
        )
