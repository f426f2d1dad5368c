"""Pages of estimates and seasons, in the states that look different."""

from orders.estimates.models import Estimate
from tests import build
from tests.desk.pages.estimated import estimates_made


def _address(estimate: Estimate) -> str:
    return f"/estimates/{estimate.public_id}/"


def listed() -> str:
    estimates_made()
    return "/estimates/?sort=-cost"


def sprayed() -> str:
    """Vines by two cuts, with a mix, a contract price and every caution."""
    return _address(estimates_made()["cut-stem"])


def remade() -> str:
    """Old beside new, and a newer survey that nobody estimated yet."""
    old = estimates_made()["hand-pull"]
    likeness = {"survey": old.survey, "method": old.method, "rate_book": old.rate_book, "inputs": old.inputs}
    made = build.EstimateFactory(**likeness, result=old.result, hours_likely=44.0, total_cents=181_250)
    build.SurveyFactory(patch=old.survey.patch, observed_on=old.survey.observed_on.replace(year=2028))
    return _address(made)


def season() -> str:
    made = estimates_made()
    shown = build.SeasonFactory(name="Winter 2027", budget_cents=450_000)
    for code in ("cut-stem", "hand-pull", "monitor", "cut"):
        build.PrescriptionFactory(season=shown, patch=made[code].survey.patch, estimate=made[code])
    return f"/seasons/{shown.public_id}/"


def season_empty() -> str:
    return f"/seasons/{build.SeasonFactory(name='Summer 2028').public_id}/"


def seasons() -> str:
    build.SeasonFactory(name="Winter 2027", budget_cents=450_000)
    return "/seasons/"
