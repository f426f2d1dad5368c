"""What may be asked of a season's calendar. All of it stands in the address."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.db.models import QuerySet
from django.utils.http import urlencode

from orders.crews.models import Crew
from orders.crews.selectors import crew_get
from orders.desk.charts_season import STATE_WORDS
from orders.desk.forms import asked
from orders.desk.plan_words import run_name
from orders.planning.models import PlanRun, Prescription, Season
from orders.planning.season_course import season_asked
from orders.planning.selectors import plan_run_get, plan_runs
from orders.sites.models import Site
from orders.sites.selectors import sites

SHOWN = (("chart", "Windows and visits"), ("load", "Load of the crews"), ("cost", "Cost over time"))
LANES = (("site", "Sites"), ("crew", "Crews"), ("patch", "Patches"))
NO_VISIT = "none"
STATES = [("", "All states"), (NO_VISIT, "No visit yet"), *((code, words) for code, words in STATE_WORDS.items())]


@dataclass(frozen=True)
class CalendarQuestion:
    """Which picture, of which part of the season; `run` in place of the standing plan."""

    show: str = "chart"
    by: str = "site"
    site: Site | None = None
    crew: Crew | None = None
    state: str = ""
    month: date | None = None
    run: PlanRun | None = None

    def said(self) -> dict[str, str]:
        """What the address holds; what is as usual is left out."""
        told = {
            "show": "" if self.show == "chart" else self.show,
            "by": "" if self.by == "site" else self.by,
            "site": self.site.code if self.site else "",
            "crew": str(self.crew.public_id) if self.crew else "",
            "state": self.state,
            "month": f"{self.month:%Y-%m}" if self.month else "",
            "run": str(self.run.public_id) if self.run else "",
        }
        return {name: value for name, value in told.items() if value}

    def address(self) -> str:
        return f"?{urlencode(self.said())}"

    def shown_as(self, **other: Any) -> str:
        """The address of the same question with something else in it."""
        return replace(self, **other).address()

    @property
    def is_narrowed(self) -> bool:
        return any((self.site, self.crew, self.state, self.month, self.run))

    def days(self, season: Season) -> tuple[date, date]:
        """The first and the last day that are shown."""
        if self.month is None:
            return season.first_day, season.last_day
        last = _next_month(self.month) - timedelta(days=1)
        return max(self.month, season.first_day), min(last, season.last_day)

    def asked(self, season: Season) -> QuerySet[Prescription]:
        """What is asked about, not read yet."""
        state = {"": None, NO_VISIT: ""}.get(self.state, self.state)
        return season_asked(season, self.run, self.site, self.crew, state)


def months(season: Season) -> list[date]:
    """The first of each month that has a day of the season."""
    month, found = season.first_day.replace(day=1), []
    while month <= season.last_day:
        found.append(month)
        month = _next_month(month)
    return found


def _next_month(month: date) -> date:
    return (month + timedelta(days=31)).replace(day=1)


class CalendarForm(forms.Form):
    """The question as it comes in an address; choices are read when it is made."""

    show = forms.ChoiceField(choices=SHOWN, required=False)
    by = forms.ChoiceField(choices=LANES, required=False, label="One row for each of the")
    state = forms.ChoiceField(choices=STATES, required=False, label="With a visit")
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sites = {row.code: row for row in sites()}
        runs = plan_runs().filter(season=season, state="done", accepted_at=None, dropped_at=None)
        listed: dict[str, list[tuple[str, str]]] = {
            "site": [("", "All sites"), *((row.code, row.name) for row in self.sites.values())],
            "crew": [("", "All crews"), *((str(row.public_id), row.name) for row in Crew.objects.order_by("name"))],
            "month": [("", "The whole season"), *((f"{day:%Y-%m}", f"{day:%B %Y}") for day in months(season))],
            "run": [
                ("", "The standing plan"),
                *((str(run.public_id), run_name(run)) for run in runs if _has_days(run)),
            ],
        }
        for name, choices in listed.items():
            self.fields[name] = forms.ChoiceField(choices=choices, required=False, label=LABELS[name])

    def question(self) -> CalendarQuestion:
        told = asked(self)
        month = told["month"]
        return CalendarQuestion(
            show=told["show"] or "chart",
            by=told["by"] or "site",
            site=self.sites.get(told["site"]),
            crew=crew_get(UUID(told["crew"])) if told["crew"] else None,
            state=told["state"],
            month=date(int(month[:4]), int(month[5:]), 1) if month else None,
            run=plan_run_get(UUID(told["run"])) if told["run"] else None,
        )


LABELS = {"site": "Site", "crew": "Crew", "month": "Month", "run": "Plan"}


def _has_days(run: PlanRun) -> bool:
    """A what-if has figures, and no visits of real crews."""
    return run.purpose != "what_if"
