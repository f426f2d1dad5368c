"""Seasons: their days, their money, what work is worth in them."""

from dataclasses import asdict
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.choices import PreviewOut
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Cents, Choice, Day, Number, Text
from orders.planning.models import Season
from orders.planning.prescribing import choice_holding
from orders.planning.preview import Preview
from orders.planning.season_edits import season_edit
from orders.planning.selectors import season_get, seasons
from orders.planning.services import season_add
from orders.planning.worth import (
    BUDGET_LEVELS,
    Weights,
    budget_level_name,
    season_budget_level_set,
    season_worth_set,
)

MOST_WEIGHT = 1_000_000


class SeasonOut(VersionedRow):
    name = serializers.CharField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    budget_cents = serializers.IntegerField(allow_null=True)
    budget_level = serializers.FloatField(help_text="The point of the range of cost at which budgets must hold.")
    budget_level_name = serializers.SerializerMethodField()
    worth = serializers.DictField(
        child=serializers.FloatField(), help_text="What work is worth, where it is not the usual figures."
    )
    weights = serializers.SerializerMethodField(help_text="All figures of what work is worth, the usual ones too.")

    def get_budget_level_name(self, season: Season) -> str:
        return budget_level_name(season.budget_level)

    @extend_schema_field(serializers.DictField(child=serializers.FloatField()))
    def get_weights(self, season: Season) -> dict[str, float]:
        return asdict(Weights.of(season))


class SeasonIn(Body):
    name = Text(max_length=80)
    first_day = Day()
    last_day = Day()
    budget_cents = Cents(required=False, allow_null=True)
    level = Choice(list(BUDGET_LEVELS), required=False, help_text="How sure one wants to be that the money lasts.")


class SeasonEdit(Body):
    name = Text(max_length=80, required=False)
    first_day = Day(required=False)
    last_day = Day(required=False)
    budget_cents = Cents(required=False, allow_null=True)
    level = Choice(list(BUDGET_LEVELS), required=False)


class Seasons(ListEndpoint):
    endpoint = "seasons"
    row = SeasonOut
    sorts = {"first_day": "first_day", "name": "name"}
    usual_sort = "-first_day"

    def rows(self) -> QuerySet[Season]:
        """Seasons, the newest first."""
        return seasons()

    @writes(SeasonOut, body=SeasonIn, located_at="season")
    def post(self) -> Season:
        """Add a season."""
        return season_add(stamp=self.stamp(), **self.body)


class SeasonOne(Endpoint):
    endpoint = "season"

    @shows(SeasonOut)
    def get(self, season_id: Any) -> Season:
        """One season."""
        return season_get(season_id)

    @edits(SeasonOut, body=SeasonEdit, names_others=True)
    def patch(self, season_id: Any) -> Season:
        """Change its name or money; its days only while nothing is planned in it."""
        season = season_get(season_id)
        return season_edit(season=season, values=self.body, expected=self.version_named(season), stamp=self.stamp())


class BudgetLevelIn(Body):
    level = Choice(list(BUDGET_LEVELS), help_text="How sure one wants to be that the money lasts.")


class SeasonBudgetLevel(Endpoint):
    endpoint = "season-budget-level"

    @edits(SeasonOut, body=BudgetLevelIn)
    def put(self, season_id: Any) -> Season:
        """Say at which point of the range of cost the budgets must hold."""
        season = season_get(season_id)
        expected = self.version_named(season)
        return season_budget_level_set(
            season=season, level=self.body["level"], expected_version=expected, stamp=self.stamp()
        )


def _weight(about: str) -> Any:
    return Number(min_value=0, max_value=MOST_WEIGHT, required=False, help_text=about)


class WorthIn(Body):
    """What is left out counts as usual."""

    control = _weight("Times the work's own cost, for all work.")
    area_cents_m2 = _weight("Cents for each square meter treated.")
    seed = _weight("Times the cost, where a seed deadline is met.")
    sooner = _weight("Times the cost, more the sooner that deadline is.")
    may_fruit = _weight("The share of both where nobody knows if the plant fruits.")
    edge = _weight("Times the cost at the edge of spread.")
    owed = _weight("Times the cost of work that was begun.")


class SeasonWorth(Endpoint):
    endpoint = "season-worth"

    @edits(SeasonOut, body=WorthIn)
    def put(self, season_id: Any) -> Season:
        """Say what work is worth this season beside its cost; nothing named puts the usual figures back."""
        season = season_get(season_id)
        expected = self.version_named(season)
        return season_worth_set(season=season, worth=self.body, expected_version=expected, stamp=self.stamp())


class PrescribedOut(Out):
    count = serializers.IntegerField()
    prescriptions = serializers.ListField(child=serializers.UUIDField())
    choice = serializers.UUIDField(allow_null=True, help_text="The choice that holds them, to be put back by.")


class SeasonPrescribe(Endpoint):
    endpoint = "season-prescribe"

    @shows(PreviewOut)
    def get(self, season_id: Any) -> Preview:
        """What prescribing the season would choose, beside what the crews can give; stores nothing.

        Of thousands of patches this takes long: ask for a season prescribe run instead."""
        return flow.preview_season(season=season_get(season_id))

    @writes(PrescribedOut)
    def post(self, season_id: Any) -> dict[str, Any]:
        """Prescribe the recommended methods wherever a patch has none yet in this season.

        Of thousands of patches this takes long: ask for a season prescribe run instead."""
        made = flow.prescribe_season(season=season_get(season_id), stamp=self.stamp())
        batch = choice_holding(made)
        ids = [prescription.public_id for prescription in made]
        return {"count": len(made), "prescriptions": ids, "choice": batch and batch.public_id}
