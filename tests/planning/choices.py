"""A season with the reference methods and several surveyed patches, for tests of choices."""

from dataclasses import dataclass
from typing import Any

from orders import flow
from orders.planning.preview import RECOMMENDED, ChoiceAsk, Preview
from orders.sites.models import Patch, Survey
from tests import build
from tests.flow.world import BEGIN, World, world_build


@dataclass
class Ground:
    """`pulled` is small (hand pulling is recommended); `wide` and `other` are for a dormant-season spray."""

    world: World
    pulled: Patch
    wide: Patch
    other: Patch

    def ask(self, method: str = RECOMMENDED, *patches: Patch, **more: Any) -> ChoiceAsk:
        chosen = patches or (self.pulled, self.wide, self.other)
        return ChoiceAsk(season=self.world.season, method=method, patches=chosen, **more)

    def look(self, method: str = RECOMMENDED, *patches: Patch, **more: Any) -> Preview:
        return flow.preview_choices(ask=self.ask(method, *patches, **more), on=BEGIN.date())

    def choose(self, method: str = RECOMMENDED, *patches: Patch, fingerprint: str | None = None, **more: Any) -> Any:
        ask = self.ask(method, *patches, **more)
        return flow.choose_methods(ask=ask, on=BEGIN.date(), fingerprint=fingerprint, stamp=self.world.stamp())


def wide_survey(patch: Patch, **facts: Any) -> Survey:
    """Wintercreeper on the ground over most of a patch; its surroundings are known."""
    where = {"gross_area_m2": 9_000, "distance_to_water_m": 80.0, **facts}
    survey: Survey = build.SurveyFactory(patch=patch, components=[], **where)
    build.SurveyComponentFactory(survey=survey, infested_area_m2=6_000)
    return survey


def ground_build(*, estimated: bool = True) -> Ground:
    world = world_build()
    site = world.patch.site
    build.calendar_records(site, leaf_off=(11, 20), leaf_out=(4, 10), ephemerals=(3, 12))
    wide, other = (build.PatchFactory(site=site, code=code) for code in ("H-02", "H-03"))
    wide_survey(wide)
    wide_survey(other)
    if estimated:
        flow.estimate_patches(on=BEGIN.date(), stamp=world.stamp())
    return Ground(world, world.patch, wide, other)
