"""A season as it runs: windows, visits and deadlines of a span; load and capacity by week; cost by week."""

from datetime import date
from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import reports
from orders.api.queries import A_DAY, AN_ID, Reader, one_of, queries_read
from orders.api.shapes import MethodRef, NamedRef, Out, PatchRef
from orders.bodies.fields import day_read, id_read
from orders.common.errors import FieldError, Invalid
from orders.crews.selectors import crew_get
from orders.planning.models import PlanRun, Season, Visit
from orders.planning.season_course import cost_weeks, crew_weeks, rows_within, season_rows
from orders.planning.selectors import plan_run_get, season_get
from orders.sites.selectors import site_get

WRONG = "The season cannot be shown that way."
RUN = ("run", AN_ID, "As if this plan run were accepted; without it, as things stand.")
SPAN = (
    ("site", AN_ID, "One site."),
    ("crew", AN_ID, "What this crew has a visit for."),
    ("first_day", A_DAY, "Of the span; else the season's."),
    ("last_day", A_DAY, "Of the span; else the season's."),
)
READERS: dict[str, Reader] = {
    "run": id_read,
    "site": id_read,
    "crew": id_read,
    "first_day": day_read,
    "last_day": day_read,
}


class RowVisitOut(Out):
    id = serializers.UUIDField(source="visit")
    day = serializers.DateField()
    crew = NamedRef()
    hours = serializers.FloatField(help_text="Person-hours planned for this prescription.")
    state = serializers.ChoiceField(Visit.STATES)


class SeasonRowOut(Out):
    prescription = serializers.UUIDField(source="prescription.public_id")
    patch = PatchRef()
    method = MethodRef()
    first_day = serializers.DateField(help_text="The window opens.")
    last_day = serializers.DateField(help_text="The window closes.")
    window_because = serializers.CharField()
    seed_due_on = serializers.DateField(allow_null=True)
    deadline = serializers.CharField(help_text="met, late or owed; empty: there is no seed deadline.")
    visits = RowVisitOut(many=True)


class SeasonCalendarOut(Out):
    season = NamedRef()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    rows = SeasonRowOut(many=True)


class CrewWeekOut(Out):
    crew = NamedRef()
    monday = serializers.DateField()
    hours = serializers.FloatField(help_text="Person-hours of work and drive.")
    capacity_hours = serializers.FloatField(help_text="What the crew's days leave for them.")


class LoadWeeksOut(Out):
    season = NamedRef()
    weeks = CrewWeekOut(many=True)


class CostWeekOut(Out):
    monday = serializers.DateField()
    low_cents = serializers.FloatField()
    likely_cents = serializers.FloatField()
    high_cents = serializers.FloatField()
    mean_cents = serializers.FloatField()


class CostCourseOut(Out):
    season = NamedRef()
    budget_cents = serializers.IntegerField(allow_null=True)
    weeks = CostWeekOut(many=True, help_text="Of all visits up to the end of each week.")


class _SeasonReport(Endpoint):
    """Reads of one season, as it stands or by a plan run of it."""

    def asked(self, season_id: Any, *names: str) -> tuple[Season, PlanRun | None, dict[str, Any]]:
        read = queries_read(self.request, {name: READERS[name] for name in ("run", *names)}, wrong=WRONG)
        season, run = season_get(season_id), one_of(plan_run_get, read, "run")
        if run is not None and run.season_id != season.pk:
            raise Invalid(WRONG, [FieldError("run", "is of another season")])
        if run is not None and run.purpose == "what_if":
            raise Invalid(WRONG, [FieldError("run", "is a what-if: it keeps figures and no visits")])
        return season, run, read


class SeasonCalendar(_SeasonReport):
    endpoint = "season-calendar"

    @reports(SeasonCalendarOut, queries=(RUN, *SPAN), names_others=True)
    def get(self, season_id: Any) -> dict[str, Any]:
        """Windows, visits and seed deadlines that touch a span of days, by site and patch."""
        season, run, read = self.asked(season_id, "site", "crew", "first_day", "last_day")
        first, last = _span(season, read)
        found = season_rows(season, run, one_of(site_get, read, "site"), one_of(crew_get, read, "crew"))
        return {"season": season, "first_day": first, "last_day": last, "rows": rows_within(found, first, last)}


class SeasonLoad(_SeasonReport):
    endpoint = "season-load"

    @reports(LoadWeeksOut, queries=(RUN,), names_others=True)
    def get(self, season_id: Any) -> dict[str, Any]:
        """Hours of each crew and week, against what its days leave."""
        season, run, _ = self.asked(season_id)
        return {"season": season, "weeks": crew_weeks(season, run)}


class SeasonCostCourse(_SeasonReport):
    endpoint = "season-cost-course"

    @reports(CostCourseOut, queries=(RUN,), names_others=True)
    def get(self, season_id: Any) -> dict[str, Any]:
        """What the planned work comes to week by week, with its range, beside the budget."""
        season, run, _ = self.asked(season_id)
        return {"season": season, "budget_cents": season.budget_cents, "weeks": cost_weeks(season, run)}


def _span(season: Season, read: dict[str, Any]) -> tuple[date, date]:
    first, last = read.get("first_day", season.first_day), read.get("last_day", season.last_day)
    if last < first:
        raise Invalid(WRONG, [FieldError("last_day", "must not be before first_day")])
    return first, last
