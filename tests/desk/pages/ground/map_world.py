"""Patches for the map: at three sites, with covers, orders and deadlines that differ."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.crews.models import Crew
from orders.estimates.models import Method
from orders.planning.models import Season
from orders.sites.models import Site
from tests import build

ON = date(2027, 7, 1)
DEGREES = 0.004


@dataclass
class MapWorld:
    season: Season
    patches: list[Any]

    def patch(self, number: int) -> Any:
        return self.patches[number]


def outline(number: int) -> dict[str, Any]:
    """A square of about 110 m, each beside the one before."""
    west, south = -86.4 + DEGREES * (number % 20), 38.3 + DEGREES * (number // 20)
    corners = [(west, south), (west + 0.001, south), (west + 0.001, south + 0.001), (west, south + 0.001)]
    return {"type": "Polygon", "coordinates": [[list(corner) for corner in [*corners, corners[0]]]]}


def map_build(count: int = 6) -> MapWorld:
    """Patch by patch: cover 10, 20, … %; every third is chosen and ordered, every fourth may fruit."""
    season = build.SeasonFactory(name="2027")
    sites = [build.SiteFactory(code=code, name=f"{code.title()} preserve") for code in ("ALDER", "BRACKEN", "CEDAR")]
    methods = [build.MethodFactory(code="hand-pull", name="hand pulling"), build.MethodFactory(code="cut-stem")]
    crew = build.CrewFactory(people=1)
    patches = [_patch(number, sites[number % 3], season, methods, crew) for number in range(count)]
    return MapWorld(season, patches)


def more_patches(count: int) -> None:
    """Beside those of `map_build`: at its sites, in its season, a tenth of them with everything."""
    season, crew = Season.objects.get(), Crew.objects.first()
    sites, methods = list(Site.objects.order_by("code")), list(Method.objects.order_by("-code"))
    for number in range(100, 100 + count):
        if number % 10 == 0:
            _patch(number, sites[number % 3], season, methods, crew)
        else:
            build.SurveyFactory(patch=build.PatchFactory(site=sites[number % 3], code=f"M-{number}"))


def _patch(number: int, site: Any, season: Season, methods: list[Any], crew: Any) -> Any:
    state = ("untreated", "under_treatment", "maintenance")[number % 3]
    patch = build.PatchFactory(site=site, code=f"M-{number:03}", control_state=state, target_cover=0.15)
    shape = outline(number)
    west, south = shape["coordinates"][0][0]
    edges = {"min_lon": west, "min_lat": south, "max_lon": west + 0.001, "max_lat": south + 0.001}
    facts = {"observed_on": date(2026, 1 + number % 12, 5), "geometry": shape, **edges}
    survey = build.SurveyFactory(patch=patch, components=[], **facts)
    cover = 0.1 * (1 + number % 9)
    likely = {"cover_low": cover / 2, "cover_likely": cover, "cover_high": min(1.0, cover * 1.1)}
    form = build.GrowthFormFactory(code=("ground cover", "climbing")[number % 2])
    build.SurveyComponentFactory(survey=survey, growth_form=form, **likely)
    if number % 3 == 0:
        _order(patch, survey, season, methods[number % 2], crew)
    if number % 4 == 0:
        due_on = date(2027, 7, 5 + number % 20)
        build.DeadlineFactory(patch=patch, survey=survey, site=site, due_on=due_on)
    return patch


def _order(patch: Any, survey: Any, season: Season, method: Any, crew: Any) -> None:
    estimate = build.EstimateFactory(survey=survey, method=method, hours_likely=4.0 + patch.pk % 7)
    wanted = {"season": season, "patch": patch, "estimate": estimate, "state": "ordered"}
    prescription = build.PrescriptionFactory(**wanted, seed_due_on=date(2027, 8, 18))
    visit = build.VisitFactory(season=season, site=patch.site, crew=crew, prescriptions=[prescription])
    build.WorkOrderFactory(season=season, site=patch.site, crew=crew, visits=[visit], state="issued")
