"""Pages on the way from patches to a season's choices, in the states that look different."""

from datetime import UTC, datetime

from orders import flow
from orders.planning.models import Season
from orders.planning.whole_season import season_found
from tests import build
from tests.browser.choice_pages import choosing_ground
from tests.desk.pages.planned import plan_done, planned

AT = datetime(2026, 12, 1, 15, tzinfo=UTC)
LEFT_OUT = [
    {
        "method": "cut-stem",
        "name": "cut-stem treatment",
        "lacks": "price",
        "why": "Ketterline has no price",
        "patches": 9,
    }
]


def _address(page: str = "") -> str:
    return f"/seasons/{Season.objects.get().public_id}/prescribe/{page}"


def side_by_side() -> str:
    ground = choosing_ground()
    ground.choose("spot-foliar", ground.wide, why="A class works there in January.")
    return _address()


def funded() -> str:
    ground = choosing_ground()
    fund = build.SeasonFundFactory(season=ground.world.season, code="CITY", name="City operations", budget_cents=90_000)
    fund.sites.set([ground.wide.site])
    ground.choose("dormant-foliar", ground.wide)
    return _address()


def whole_season() -> str:
    choosing_ground()
    return _address("season/")


def looked() -> str:
    season = choosing_ground().world.season
    found = season_found(flow.preview_season(season=season))
    run = build.SeasonPrescribeRunFactory(season=season, state="done", asked_at=AT, found=found)
    return f"/runs/{run.public_id}/"


def nothing_picked() -> str:
    choosing_ground()
    return _address("review/")


def empty() -> str:
    build.SeasonFactory(name="2027")
    return _address()


def estimating() -> str:
    choosing_ground()
    build.EstimateRunFactory(state="done", asked_at=AT, made_count=41)
    return "/estimates/make/"


def estimated() -> str:
    counts = {"surveys_count": 12, "made_count": 41, "standing_count": 7}
    run = build.EstimateRunFactory(state="done", asked_at=AT, left_out=LEFT_OUT, **counts)
    return f"/runs/{run.public_id}/"


def season_edit() -> str:
    return f"/seasons/{build.SeasonFactory(name='Winter 2028').public_id}/change/"


def plan_at_work() -> str:
    more = {"state": "running", "course": [[0, 9_400_000], [400, 8_600_000]], "lost_cents": 8_600_000}
    run = build.PlanRunFactory(season=planned().season, bound_cents=7_100_000, progress_done=900, **more)
    return f"/plans/{run.public_id}/"


def plan_beside() -> str:
    made = planned()
    run = plan_done(made.season, title="Before the thaw", accepted_at=build.NOW)
    plan_done(made.season, purpose="what_if", title="1 more crew")
    plan_done(made.season, purpose="what_if", title="no herbicide")
    return f"/plans/{run.public_id}/"


STATES = {
    "prescribe": side_by_side,
    "prescribe-funded": funded,
    "prescribe-season": whole_season,
    "prescribe-season-looked": looked,
    "prescribe-review-empty": nothing_picked,
    "prescribe-empty": empty,
    "prescribe-no-season": lambda: "/seasons/prescribe/",
    "estimates-make": estimating,
    "estimates-none": lambda: "/estimates/make/",
    "estimates-run": estimated,
    "season-new": lambda: "/seasons/new/",
    "season-edit": season_edit,
    "plan-at-work": plan_at_work,
    "plan-what-ifs": plan_beside,
}
