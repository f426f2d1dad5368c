"""What the pages of patches and choices show: a climbing vine, wide ground cover, a small patch; some of it chosen."""

from orders import flow
from orders.planning.preview import RECOMMENDED
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import Ground, ground_build


def choosing_ground() -> Ground:
    ground = ground_build(estimated=False)
    vines = build.PatchFactory(site=ground.wide.site, code="H-04", name="Bend above the old mill")
    survey = build.SurveyFactory(patch=vines, gross_area_m2=2_500, slope_deg=24, distance_to_water_m=9, components=[])
    form = build.GrowthFormFactory(code="climbing")
    build.SurveyComponentFactory(
        survey=survey,
        growth_form=form,
        infested_area_m2=900,
        cover_low=0.25,
        cover_likely=0.375,
        cover_high=0.5,
        cover_is_class=True,
        fertile="unknown",
    )
    unknown = build.PatchFactory(site=ground.wide.site, code="H-05")
    build.SurveyFactory(patch=unknown, wet_ground="unknown")
    flow.estimate_patches(on=BEGIN.date(), stamp=ground.world.stamp())
    return ground


def patches() -> str:
    ground = choosing_ground()
    ground.choose(RECOMMENDED, ground.pulled)
    ground.choose("spot-foliar", ground.wide, why="A class works there in January.")
    return "/patches/"


def patch() -> str:
    ground = choosing_ground()
    ground.choose("dormant-foliar", ground.wide)
    ground.choose("monitor", ground.wide, why="Look twice.", replace=False)
    return f"/patches/{ground.wide.public_id}/"


def vines() -> str:
    ground = choosing_ground()
    return f"/patches/{ground.wide.site.patches.get(code='H-04').public_id}/"


def bare_patch() -> str:
    return f"/patches/{build.PatchFactory().public_id}/"


def choice() -> str:
    ground = choosing_ground()
    return f"/choices/{ground.choose().public_id}/"


def choices() -> str:
    ground = choosing_ground()
    ground.choose(RECOMMENDED, ground.pulled)
    ground.choose("spot-foliar", ground.wide, why="A class works there in January.")
    return "/choices/"
