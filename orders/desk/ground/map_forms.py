"""What may be asked of the map. All of it stands in the address, so that a map can be kept or passed on."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.http import QueryDict

from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.estimates.selectors import method_names
from orders.planning.models import Season
from orders.planning.selectors import season_get, seasons
from orders.reports.ground.measures import MEASURES, USUAL
from orders.reports.ground.question import GroundQuestion
from orders.sites.models import CONTROL_STATES
from orders.sites.selectors import growth_forms, sites, species_all

SORTS = ("patch", "value")
USUAL_SORT = "patch"
# What the data of the map depend on; sort, page and what the legend hides do not change them.
DATA_FIELDS = (
    *("by", "season", "site", "species", "form", "control_state", "method"),
    *("cover_from", "cover_to", "seed_from", "seed_to", "text"),
)
DAY = {"type": "date"}


@dataclass(frozen=True)
class MapQuestion:
    """The patches and the measure; `only` the classes that the legend shows (None: all); how the list is sorted."""

    ground: GroundQuestion
    by: str
    only: frozenset[str] | None
    sort: str
    page: int


class MapForm(forms.Form):
    """The question as it comes in an address; choices are read when it is made."""

    text = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Patch or site holds")
    control_state = forms.ChoiceField(
        choices=[("", "All states"), *CONTROL_STATES], required=False, label="Control state"
    )
    cover_from = forms.IntegerField(required=False, min_value=0, max_value=100, label="Cover from, %")
    cover_to = forms.IntegerField(required=False, min_value=0, max_value=100, label="Cover to, %")
    seed_from = forms.DateField(required=False, label="Seed deadline from", widget=forms.DateInput(attrs=DAY))
    seed_to = forms.DateField(required=False, label="Seed deadline to", widget=forms.DateInput(attrs=DAY))
    by = forms.ChoiceField(choices=[(code, one.words) for code, one in MEASURES.items()], required=False)
    sort = forms.ChoiceField(choices=[(f"{turn}{name}", name) for name in SORTS for turn in ("", "-")], required=False)
    legend = forms.CharField(required=False, max_length=20)
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, data: QueryDict, *, today: date) -> None:
        self.seasons = list(seasons())
        current = [row for row in self.seasons if row.last_day >= today]
        self.usual = current[-1] if current else (self.seasons[0] if self.seasons else None)
        said = data.copy()
        if self.usual and not said.get("season"):
            said["season"] = str(self.usual.public_id)
        super().__init__(said)
        self.method_names = dict(_methods())
        listed: dict[str, tuple[str, list[tuple[str, str]]]] = {
            "season": ("Season", [(str(row.public_id), row.name) for row in self.seasons]),
            "site": ("Site", [("", "All sites"), *((row.code, row.name) for row in sites())]),
            "species": ("Species", [("", "All species"), *((row.code, row.common_name) for row in species_all())]),
            "form": ("Growth form", [("", "All growth forms"), *((row.code, row.name) for row in growth_forms())]),
            "method": ("Chosen method", list(self.method_names.items())),
        }
        for name, (label, choices) in listed.items():
            self.fields[name] = forms.ChoiceField(choices=choices, required=False, label=label)

    def question(self) -> MapQuestion:
        told = asked(self)
        by = told["by"] or USUAL
        # A legend of another measure says nothing of this one's classes.
        only = frozenset(self.data.getlist("shown")) if told["legend"] == by else None  # type: ignore[attr-defined]
        return MapQuestion(self._ground(told), by, only, told["sort"] or USUAL_SORT, told["page"] or 1)

    def _ground(self, told: dict[str, Any]) -> GroundQuestion:
        plain = {name: told[name] for name in ("site", "species", "form", "control_state", "method", "text")}
        days = {name: told[name] for name in ("seed_from", "seed_to")}
        cover: dict[str, Any] = {
            name: None if told[name] is None else told[name] / 100 for name in ("cover_from", "cover_to")
        }
        return GroundQuestion(season=self._season(told["season"]), **plain, **days, **cover)

    def _season(self, named: str) -> Season | None:
        return season_get(UUID(named)) if named else self.usual

    def filters(self) -> list[forms.BoundField]:
        """In the order in which people narrow."""
        names = ("season", "site", "species", "form", "control_state", "method")
        return [self[name] for name in (*names, "cover_from", "cover_to", "seed_from", "seed_to", "text")]

    def said(self, names: tuple[str, ...] = DATA_FIELDS, **instead: str) -> str:
        """The query of an address with these of the fields, as they were asked."""
        query = QueryDict(mutable=True)
        for name in names:
            value = instead.get(name, self.data.get(name, ""))
            if value:
                query[name] = value
        return query.urlencode()


def _methods() -> list[tuple[str, str]]:
    return [("", "All methods"), ("none", "Nothing chosen"), *method_names().items()]


class WantedForm(forms.Form):
    """What is wanted of the marked patches: both values count for all of them, an empty one stays as it is."""

    control_state = forms.ChoiceField(
        choices=[("", "As it is"), *CONTROL_STATES], required=False, label="Control state"
    )
    target_cover = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=100,
        label="Target cover, %",
        help_text="Share of the ground that the wood can live with. Empty: as it is.",
    )
    reason = forms.CharField(max_length=200, label="Why", help_text="Kept with each patch.")

    def values(self) -> dict[str, Any]:
        told = asked(self)
        target = told["target_cover"]
        return {
            "control_state": told["control_state"] or None,
            "target_cover": None if target is None else target / 100,
        }
