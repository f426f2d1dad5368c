"""What a plan is asked for with: how hard it is looked for, and what a what-if assumes."""

from typing import Any
from uuid import UUID

from django import forms

from orders.crews.models import Crew
from orders.desk.plan_words import BY_CODE, SEARCHES, Search
from orders.planning.what_if import WhatIf

MOST_CREWS = 3
MOST_SEED = 2**31 - 1


class PlanForm(forms.Form):
    """A new plan. The same season, search and seed give the same plan."""

    prefix = "plan"
    search = forms.ChoiceField(
        choices=[(search.code, f"{search.words}: {search.help}") for search in SEARCHES],
        initial="thorough",
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

    @property
    def level(self) -> Search:
        return BY_CODE[self.cleaned_data["search"]]

    def asks(self) -> dict[str, Any]:
        """What planning is handed."""
        level = self.level
        return {
            "iterations": level.iterations,
            "exact_work": level.exact_work,
            "seed": self.cleaned_data.get("seed") or 0,
        }


class AgainForm(PlanForm):
    """The plan made again, with as little moved as can be."""

    prefix = "again"
    seed = None  # type: ignore[assignment]  # as Django takes a field away


class WhatIfForm(PlanForm):
    """A plan that is only looked at."""

    prefix = "what"
    seed = None  # type: ignore[assignment]
    extra_crews = forms.IntegerField(min_value=0, max_value=MOST_CREWS, initial=0, label="More crews")
    budget_percent = forms.FloatField(
        min_value=10, max_value=200, initial=100, label="Budget, % of what it is", widget=forms.NumberInput({"step": 1})
    )
    no_herbicide = forms.BooleanField(required=False, label="No herbicide: other methods where one fits")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        crews = Crew.objects.filter(is_active=True).order_by("name")
        listed = [("", "The crew that works most"), *((str(crew.public_id), crew.name) for crew in crews)]
        self.fields["like_crew"] = forms.ChoiceField(choices=listed, required=False, label="Like which crew")
        self.order_fields(["search", "extra_crews", "like_crew", "budget_percent", "no_herbicide"])
        self.initial.setdefault("search", "quick")

    def clean(self) -> dict[str, Any]:
        """Something must differ, or it would be the plan itself."""
        told = super().clean() or self.cleaned_data
        if not self.errors and not self.what().words():
            self.add_error("extra_crews", "Change the crews, the budget or the use of herbicide.")
        return told

    def what(self) -> WhatIf:
        told = self.cleaned_data
        return WhatIf(
            extra_crews=told["extra_crews"],
            like_crew=UUID(told["like_crew"]) if told["like_crew"] and told["extra_crews"] else None,
            budget_percent=told["budget_percent"],
            no_herbicide=told["no_herbicide"],
        )
