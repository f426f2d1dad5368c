"""What may be asked of the list of patches. All of it stands in the address."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.utils.http import urlencode

from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.estimates.selectors import method_names
from orders.planning.models import Season
from orders.planning.overview import PatchQuestion
from orders.planning.patch_finder import SORTS
from orders.planning.selectors import season_get, seasons
from orders.sites.models import CONTROL_STATES
from orders.sites.selectors import growth_forms, sites

FILTERS = ("text", "site", "recommended", "form", "control_state", "chosen")
LABELS = {
    "text": "Patch holds",
    "site": "Site",
    "recommended": "Recommended",
    "form": "Growth form",
    "control_state": "Control state",
    "chosen": "Chosen",
    "season": "Season",
}
HEADINGS = {
    "patch": "Patch",
    "area": "Infested area",
    "cover": "Cover",
    "control_state": "State",
    "recommended": "Recommended",
}
NUMBERS = ("area", "cover")


@dataclass(frozen=True)
class PatchListQuestion:
    """The season whose choices are shown, and which patches."""

    season: Season | None
    patches: PatchQuestion

    def said(self) -> dict[str, str]:
        """What the address holds; what is as usual is left out."""
        season = {"season": str(self.season.public_id)} if self.season else {}
        narrowed = {name: getattr(self.patches, name) for name in FILTERS}
        sort = {} if self.patches.sort == "patch" else {"sort": self.patches.sort}
        return {name: value for name, value in {**season, **narrowed, **sort}.items() if value}

    def address(self) -> str:
        return f"?{urlencode(self.said())}"

    def sorted_by(self, column: str) -> "PatchListQuestion":
        """Largest first, names from A; once more turns it."""
        first = f"-{column}" if column in NUMBERS else column
        turned = column if first.startswith("-") else f"-{column}"
        sort = turned if self.patches.sort == first else first
        return replace(self, patches=replace(self.patches, sort=sort))

    @property
    def is_narrowed(self) -> bool:
        return any(getattr(self.patches, name) for name in FILTERS)


class PatchListForm(forms.Form):
    """The question as it comes in an address; choices are read when it is made."""

    text = forms.CharField(required=False, max_length=LABEL_CHARACTERS)
    control_state = forms.ChoiceField(choices=[("", "All states"), *CONTROL_STATES], required=False)
    chosen = forms.ChoiceField(
        choices=[("", "Chosen or not"), ("yes", "Something chosen"), ("no", "Nothing chosen")], required=False
    )
    sort = forms.ChoiceField(choices=[(f"{turn}{name}", name) for name in SORTS for turn in ("", "-")], required=False)
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seasons = list(seasons())
        current = [row for row in self.seasons if row.last_day >= today]
        self.usual = current[-1] if current else (self.seasons[0] if self.seasons else None)
        listed: dict[str, list[tuple[str, str]]] = {
            "season": [(str(row.public_id), row.name) for row in self.seasons],
            "site": [("", "All sites"), *((row.code, row.name) for row in sites())],
            "recommended": [("", "All methods"), *method_names().items()],
            "form": [("", "All growth forms"), *((row.code, row.name) for row in growth_forms())],
        }
        for name, choices in listed.items():
            self.fields[name] = forms.ChoiceField(choices=choices, required=False)
        for name, label in LABELS.items():
            self.fields[name].label = label
        if self.usual:
            self.fields["season"].initial = str(self.usual.public_id)

    def question(self) -> PatchListQuestion:
        told = asked(self)
        season = season_get(UUID(told["season"])) if told["season"] else self.usual
        narrowed = {name: told[name] for name in FILTERS}
        return PatchListQuestion(season, PatchQuestion(**narrowed, sort=told["sort"] or "patch"))
