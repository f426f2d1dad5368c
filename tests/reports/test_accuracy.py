"""How good a season's estimates were."""

import math

import pytest

from orders.common.errors import Invalid, RoleMissing
from orders.reports.accuracy import accuracy_report
from tests import build
from tests.calibration.closed import closed_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def coordinator():
    return build.UserFactory(roles=["coordinator"])


def test_it_tells_bias_as_a_geometric_mean(coordinator):
    closed = closed_build((2.0, 0.5, 4.0))
    found = accuracy_report(actor=coordinator, season=closed.season).overall
    assert found
    assert found.bias == pytest.approx(math.exp((math.log(2) + math.log(0.5) + math.log(4)) / 3), rel=1e-3)


def test_it_counts_how_many_fell_inside_low_and_high(coordinator):
    closed = closed_build((1.0, 1.1, 3.0))
    found = accuracy_report(actor=coordinator, season=closed.season).overall
    assert found
    assert (found.inside, found.orders) == (2, 3)


@pytest.mark.parametrize(("by", "names"), [("crew", ["Alder crew", "Birch crew"]), ("method", ["cut"])])
def test_it_is_cut_by_group_and_the_parts_make_the_whole(coordinator, by, names):
    closed = closed_build((1.0, 1.1, 3.0))
    report = accuracy_report(actor=coordinator, season=closed.season, by=by)
    assert report.overall
    assert [row.name for row in report.rows] == names
    assert sum(row.actual_hours for row in report.rows) == pytest.approx(report.overall.actual_hours)


def test_it_accounts_for_every_closed_order(coordinator):
    closed = closed_build((1.0,))
    closed.order(1.0, origin="prefilled")
    report = accuracy_report(actor=coordinator, season=closed.season)
    assert (len(report.orders), len(report.left_out)) == (1, 1)


def test_it_has_nothing_to_say_of_a_season_without_measured_hours(coordinator):
    report = accuracy_report(actor=coordinator, season=build.SeasonFactory())
    assert (report.overall, report.rows) == (None, ())


def test_it_knows_no_other_cut(coordinator):
    with pytest.raises(Invalid):
        accuracy_report(actor=coordinator, season=build.SeasonFactory(), by="moon")


def test_it_is_not_open_to_crew_leads():
    with pytest.raises(RoleMissing):
        accuracy_report(actor=build.UserFactory(roles=["crew_lead"]), season=build.SeasonFactory())
