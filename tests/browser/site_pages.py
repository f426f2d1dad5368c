"""What the pages of sites and of a season's windows show: a full calendar, a young one, closures, weather."""

from datetime import date, timedelta

from orders.sites.models import Site
from tests import build
from tests.planning.choices import Ground, ground_build

SHIFT = (0, 6, -4, 3, 9)
YEARS = (2021, 2022, 2023, 2024, 2025)
PLAN = {
    "emergency_access": "Main gate; somebody stands there with the code.",
    "meeting_lon": -86.02,
    "meeting_lat": 38.343,
    "nearest_medical_help": "Invented clinic, 14 minutes",
    "medical_phone": "555-0114",
    "medical_address": "41 Clinic Road",
    "radio_or_phone": "Channel 2 in the hollow",
}


def _records(site: Site) -> None:
    """Invented years, each a few days off the others."""
    for kind, month, day in (("ephemerals", 3, 10), ("leaf_out", 4, 12), ("first_frost", 10, 20), ("leaf_off", 11, 14)):
        for year, days in zip(YEARS, SHIFT, strict=True):
            on = date(year, month, day) + timedelta(days=days)
            build.CalendarEventFactory(site=site, kind=kind, year=year, on=on)
    for year in YEARS[-2:]:
        build.CalendarEventFactory(site=site, kind="ground_freezes", year=year, on=date(year + 1, 1, 3))


def _weather(site: Site) -> None:
    for number in range(640):
        warm = 14 - 11 * abs(((number % 365) - 196) / 182)
        day = date(2025, 1, 1) + timedelta(days=number)
        build.DailyWeatherFactory(site=site, day=day, low_c=warm - 6, high_c=warm + 8, source="Gauge (invented)")


def _site() -> Site:
    site = build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow", access_notes="Gate code at the shop.", **PLAN)
    _records(site)
    build.ClosureFactory(
        site=site,
        kind="hunting",
        first_day=date(2026, 12, 26),
        last_day=date(2027, 1, 9),
        repeats_yearly=True,
        why="Youth and late deer, by the land agreement",
    )
    build.MethodFactory(code="mow-mulch", name="mowing or mulching")
    build.ClosureFactory(site=site, kind="nesting", methods=["mow-mulch"], why="Birds on the ground")
    build.ChecklistAnswerFactory(site=site)
    build.ChecklistQuestionFactory()
    return site


def listed() -> str:
    _site()
    build.PatchFactory.create_batch(3)
    return "/sites/"


def site() -> str:
    found = _site()
    _weather(found)
    return f"/sites/{found.public_id}/"


def bare_site() -> str:
    return f"/sites/{build.SiteFactory(name='Sorrel Glade').public_id}/"


def event() -> str:
    found = build.CalendarEventFactory()
    return f"/sites/{found.site.public_id}/calendar/{found.public_id}/"


def closure() -> str:
    build.MethodFactory(code="mow-mulch", name="mowing or mulching")
    found = build.ClosureFactory(methods=["mow-mulch"])
    return f"/sites/{found.site.public_id}/closures/{found.public_id}/"


def emergency() -> str:
    return f"/sites/{build.SiteFactory(name='Sorrel Glade').public_id}/emergency/"


def _ground() -> Ground:
    ground = ground_build()
    site = ground.wide.site
    build.ClosureFactory(
        site=site, kind="burn", first_day=date(2027, 2, 1), last_day=date(2027, 2, 7), why="North unit"
    )
    build.SurveyFactory(patch=build.PatchFactory(site=build.SiteFactory(name="Harrow Knob"), code="Y-01"))
    ground.choose("dormant-foliar", ground.wide)
    return ground


def windows() -> str:
    return f"/seasons/{_ground().world.season.public_id}/windows/?shown=all"


def windows_none() -> str:
    return f"/seasons/{_ground().world.season.public_id}/windows/?is_open=no&shown=all"


def windows_empty() -> str:
    return f"/seasons/{build.SeasonFactory().public_id}/windows/"
