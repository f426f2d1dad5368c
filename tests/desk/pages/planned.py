"""A season with two sites, two crews, work on days and a finished plan, for the pages of plans and boards. Invented."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from tests import build

ASKED_AT = datetime(2026, 12, 1, 15, tzinfo=UTC)
FIGURES: dict[str, Any] = {
    "area_m2": 48_500.0,
    "deadlines_met": 11,
    "deadlines_owed": 14,
    "cost_cents": 4_812_377,
    "person_hours": 812.4,
    "visits": 63,
    "left_out": 3,
    "by_fund": {"": 4_812_377, "CITY": 3_100_000},
}
LEFT_OUT: dict[str, Any] = {
    "prescription": "",
    "patch": "OXBOW P7",
    "method": "Cut-stem treatment",
    "hours": 14.5,
    "constraint": "license",
    "because": "Every crew with a certified applicator is taken until the window closes on March 20.",
    "change": "license",
    "would_help": "Another license in the Hollow crew would let it in.",
    "change_cents": 38_000,
}
FUNDS: list[dict[str, Any]] = [
    {
        "fund": "",
        "name": "",
        "budget_cents": 6_000_000,
        "cost_cents": 4_812_377,
        "level_cents": 5_610_000,
        "chance_over": 0.06,
    },
    {
        "fund": "CITY",
        "name": "City operations",
        "budget_cents": 3_200_000,
        "cost_cents": 3_100_000,
        "level_cents": 3_200_000,
        "chance_over": 0.41,
    },
]
BECAUSE = [
    "The Hollow crew holds the license that this takes.",
    "Of the days in its window this one leaves the least drive.",
]


@dataclass
class Planned:
    season: Any
    crews: list[Any]
    sites: list[Any]
    asked: list[Any]  # prescriptions, the last without a visit
    visits: list[Any]


def planned() -> Planned:
    season = build.SeasonFactory(name="Winter 2027", budget_cents=6_000_000)
    crews = [build.CrewFactory(name=name, people=3) for name in ("Hollow crew", "Ridge crew")]
    sites = [build.SiteFactory(code=code, name=name) for code, name in (("OXBOW", "Oxbow Bend"), ("TANNER", "Tanner"))]
    asked = [_asked(season, sites[number % 2], number) for number in range(5)]
    states = ("done", "ordered", "planned", "planned")
    visits = [
        build.VisitFactory(
            season=season,
            crew=crews[number % 2],
            site=asked[number].patch.site,
            day=date(2027, 2, (1, 8, 12, 18)[number]),
            state=state,
            because=BECAUSE,
            prescriptions=[asked[number]],
        )
        for number, state in enumerate(states)
    ]
    build.WorkOrderFactory(number=41, season=season, site=sites[1], crew=crews[1], visits=[visits[1]])
    return Planned(season, crews, sites, asked, visits)


def _asked(season: Any, site: Any, number: int) -> Any:
    patch = build.PatchFactory(site=site, code=f"P{number}")
    return build.PrescriptionFactory(
        season=season,
        patch=patch,
        state=("done", "ordered", "planned", "planned", "open")[number],
        seed_due_on=date(2027, 8, 18) if number in (2, 4) else None,
        last_day=date(2027, 9, 20) if number in (2, 4) else date(2027, 3, 20),
    )


def plan_done(season: Any, **more: Any) -> Any:
    """A finished plan with all that one tells."""
    told: dict[str, Any] = {
        "state": "done",
        "asked_at": ASKED_AT,
        "finished_at": ASKED_AT,
        "iterations": 60_000,
        "exact_work": 120.0,
        "cost_cents": 4_812_377,
        "figures": FIGURES,
        "funds": FUNDS,
        "left_out": [LEFT_OUT, {**LEFT_OUT, "patch": "TANNER P2", "constraint": "money", "would_help": ""}],
        "start_lost_cents": 9_400_000,
        "lost_cents": 7_900_000,
        "bound_cents": 7_100_000,
        "bound_at": ASKED_AT,
        "course": [[0, 9_400_000], [400, 8_600_000], [9_000, 7_900_000]],
    }
    return build.PlanRunFactory(season=season, **{**told, **more})


def proposed(run: Any, made: Planned) -> list[Any]:
    """The run's own visits: what has no visit yet, and the last one elsewhere."""
    days = ((date(2027, 2, 23), 4, None), (date(2027, 2, 24), 3, made.visits[3]))
    return [
        build.VisitFactory(
            plan_run=run,
            season=run.season,
            crew=made.crews[0],
            site=made.asked[number].patch.site,
            day=day,
            state="proposed",
            because=BECAUSE,
            replaces=old,
            prescriptions=[made.asked[number]],
        )
        for day, number, old in days
    ]


def moved(made: Planned) -> list[dict[str, Any]]:
    return [
        {
            "patch": str(made.asked[3].patch),
            "prescription": str(made.asked[3].public_id),
            "old_day": "2027-02-18",
            "old_crew": "Ridge crew",
            "new_day": "2027-02-24",
            "new_crew": "Hollow crew",
        },
        {
            "patch": str(made.asked[4].patch),
            "prescription": str(made.asked[4].public_id),
            "old_day": None,
            "old_crew": None,
            "new_day": "2027-02-23",
            "new_crew": "Hollow crew",
        },
    ]
