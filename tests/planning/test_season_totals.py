"""The season's total keeps what its prescriptions share, in hours and in money."""

import math

import pytest

from estimating.spread import HIGH_Z
from orders.planning.convert import season_hours
from orders.planning.totals import season_totals
from tests import build

pytestmark = pytest.mark.django_db


def _asked(season, method, *, hours=10.0, share=1.0, **more):
    reach = math.exp(HIGH_Z * math.hypot(0.3, 0.4))
    figures = {"hours_low": hours / reach, "hours_likely": hours, "hours_high": hours * reach, "total_cents": 100_000}
    money = {"cost_low_cents": round(100_000 / reach), "cost_high_cents": round(100_000 * reach)}
    spreads = {"own_log_sd": 0.3, "shared_log_sd": 0.4}
    estimate = build.EstimateFactory(method=build.MethodFactory(code=method), **figures, **money, **spreads)
    patch = estimate.survey.patch
    return build.PrescriptionFactory(season=season, patch=patch, estimate=estimate, share_left=share, **more)


@pytest.fixture
def season():
    made = build.SeasonFactory(budget_cents=300_000)
    for method, hours in (("cut", 10.0), ("cut", 20.0), ("dig", 40.0)):
        _asked(made, method, hours=hours)
    return made


def test_it_totals_the_hours_as_the_planner_does(season):
    total, fit = season_totals(season).total, season_hours(season)
    assert total.count == 3
    assert total.hours.mean == pytest.approx(fit.mean)
    assert total.hours.high == pytest.approx(fit.high)
    assert total.hours.mean == pytest.approx(70 * math.exp((0.3**2 + 0.4**2) / 2))


def test_it_adds_means_of_methods_and_not_their_highs(season):
    found = season_totals(season)
    assert [(row.name, row.count) for row in found.by_method] == [("Cut", 2), ("Dig", 1)]
    assert sum(row.dollars.mean for row in found.by_method) == pytest.approx(found.total.dollars.mean)
    assert sum(row.hours.high for row in found.by_method) > found.total.hours.high


def test_it_gives_money_the_spread_of_its_own_low_and_high(season):
    found = season_totals(season)
    assert found.total.dollars.mean == pytest.approx(3_000 * math.exp((0.3**2 + 0.4**2) / 2), rel=1e-4)
    assert found.rows[0].cost_parts == pytest.approx((0.3, 0.4), rel=1e-4)


def test_it_counts_the_share_that_is_left_and_nothing_dropped(season):
    half = _asked(season, "cut", hours=100.0, share=0.5)
    _asked(season, "cut", hours=1_000.0, state="dropped")
    found = season_totals(season)
    assert found.rows[0].prescription == half
    assert (found.total.count, found.rows[0].likely_hours, found.rows[0].likely_dollars) == (4, 50.0, 500.0)


def test_it_names_what_moves_the_total(season):
    drivers = season_totals(season).drivers
    assert {driver.name for driver in drivers} == {"rates: cut", "rates: dig", "orders' own"}
    assert sum(driver.share_of_variance for driver in drivers) == pytest.approx(1)


def test_it_totals_nothing_to_nothing():
    found = season_totals(build.SeasonFactory())
    assert (found.total.count, found.total.hours.mean, found.drivers, len(found.rows)) == (0, 0.0, (), 0)
