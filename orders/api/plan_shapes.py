"""How a plan run is shown: in a list, whole, and its figures beside those of others."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from orders.api.runs import RunOut
from orders.api.shapes import NamedRef, Out, Row, SiteRef
from orders.planning.figures import PlanFigures
from orders.planning.models import PlanRun


class FiguresOut(Out):
    """What a plan comes to."""

    area_m2 = serializers.FloatField(help_text="Ground treated, once however often.")
    deadlines_met = serializers.IntegerField()
    deadlines_owed = serializers.IntegerField(help_text="Seed deadlines that there are; those met count too.")
    cost_cents = serializers.IntegerField()
    person_hours = serializers.FloatField()
    visits = serializers.IntegerField(help_text="One crew at one site on one day.")
    left_out = serializers.IntegerField(help_text="Pieces of work.")
    by_fund = serializers.DictField(child=serializers.IntegerField(), help_text="Cents by the fund's code.")


class PlanRunRow(RunOut):
    season = NamedRef()
    purpose = serializers.ChoiceField(PlanRun.PURPOSES)
    title = serializers.CharField()
    iterations = serializers.IntegerField()
    exact_work = serializers.FloatField(help_text="Of the exact solver, in its own deterministic seconds.")
    seed = serializers.IntegerField()
    cost_cents = serializers.IntegerField(allow_null=True)
    value_cents = serializers.IntegerField(allow_null=True)
    start_lost_cents = serializers.IntegerField(allow_null=True, help_text="Of the first plan, before the search.")
    lost_cents = serializers.IntegerField(
        allow_null=True, help_text="What the search makes small: value left undone, work, drive, moves."
    )
    bound_cents = serializers.IntegerField(allow_null=True, help_text="No plan loses less than this.")
    bound_at = serializers.DateTimeField(allow_null=True, help_text="It is tightened in the background.")
    gap = serializers.SerializerMethodField(help_text="(lost - bound) / lost: how much better a plan could be at most.")
    was_stopped = serializers.BooleanField(help_text="Ended early by somebody; this is the best by then.")
    figures = serializers.SerializerMethodField(help_text="null before the plan is done.")
    accepted_at = serializers.DateTimeField(allow_null=True)
    dropped_at = serializers.DateTimeField(allow_null=True)

    @extend_schema_field(serializers.FloatField(allow_null=True))
    def get_gap(self, run: PlanRun) -> float | None:
        if run.lost_cents is None or run.bound_cents is None or run.lost_cents <= 0:
            return None
        return max(0.0, (run.lost_cents - run.bound_cents) / run.lost_cents)

    @extend_schema_field(FiguresOut(allow_null=True))
    def get_figures(self, run: PlanRun) -> Any:
        found = PlanFigures.of(run)
        return found and FiguresOut(found).data


class LeftOut(Out):
    prescription = serializers.UUIDField()
    patch = serializers.CharField()
    method = serializers.CharField()
    hours = serializers.FloatField()
    constraint = serializers.CharField()
    because = serializers.CharField()
    change = serializers.CharField(default="", help_text="The kind of the cheapest change that lets it in.")
    would_help = serializers.CharField(default="", help_text="That change in words.")
    change_cents = serializers.IntegerField(default=0, help_text="What it costs beside the plan.")


class FundUseOut(Out):
    fund = serializers.CharField(help_text="Code; empty: the season's budget.")
    name = serializers.CharField()
    budget_cents = serializers.IntegerField()
    cost_cents = serializers.IntegerField()
    level_cents = serializers.IntegerField(help_text="The cost at the level that the season holds budgets at.")
    chance_over = serializers.FloatField(help_text="That the work costs more than there is, 0 to 1.")


class MovedOut(Out):
    patch = serializers.CharField()
    prescription = serializers.UUIDField()
    method = serializers.CharField(default="")
    visit = serializers.UUIDField(default=None, allow_null=True, help_text="The visit that moves; null: new.")
    old_day = serializers.DateField(allow_null=True, help_text="null: new in this plan.")
    old_crew = serializers.CharField(allow_null=True)
    new_day = serializers.DateField(allow_null=True, help_text="null: left out now.")
    new_crew = serializers.CharField(allow_null=True)


class ChangesOut(Out):
    extra_crews = serializers.IntegerField(default=0)
    like_crew = serializers.UUIDField(default=None, allow_null=True)
    budget_percent = serializers.FloatField(default=100.0)
    no_herbicide = serializers.BooleanField(default=False)


class PlanRunOut(PlanRunRow):
    based_on = serializers.UUIDField(source="based_on.public_id", allow_null=True, help_text="The plan run before.")
    changes = ChangesOut(help_text="What a what-if assumes.")
    course = serializers.ListField(
        child=serializers.ListField(child=serializers.IntegerField(), min_length=2, max_length=2),
        help_text="Rounds done and lost cents, each time a better plan was found.",
    )
    funds = FundUseOut(many=True)
    moved = MovedOut(many=True, help_text="What stands elsewhere than in the plan before: old beside new.")
    left_out = LeftOut(many=True)
    faults = serializers.ListField(
        child=serializers.CharField(), help_text="What a check apart from the planner found; with any it is refused."
    )


class ComparedOut(FiguresOut):
    run = serializers.UUIDField(source="run.public_id")
    purpose = serializers.CharField(source="run.purpose")
    title = serializers.CharField(source="run.title")


class CompareOut(Out):
    plans = ComparedOut(many=True, help_text="In the order asked for.")


class DraftedOut(Row):
    number = serializers.IntegerField()
    site = SiteRef()
    crew = NamedRef()
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class AcceptedOut(Out):
    orders = DraftedOut(many=True)
