"""Where each fund's season ends: spent, committed and planned, and the chance of passing its budget."""

import math
from statistics import NormalDist

import pytest

from orders.reports.catalog import report_table
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


@pytest.fixture
def season():
    return build.SeasonFactory()


def _row(finance, season, fund):
    table = report_table(finance, "forecast", {"season": str(season.public_id)})
    keys = [column.key for column in table.columns]
    return next(dict(zip(keys, row, strict=True)) for row in table.rows if row[0] == fund)


def _committed(season, fund, state="issued"):
    asked = build.PrescriptionFactory(season=season, state="ordered")
    order = build.WorkOrderFactory(season=season, state=state)
    build.CommitmentFactory(order=order, prescription=asked, fund=fund, amount_cents=38_180)


def test_it_is_certain_of_what_is_spent(finance, season):
    fund = build.FundFactory(code="CITY")
    build.LedgerEntryFactory(order=build.WorkOrderFactory(season=season, state="closed"), fund=fund, amount_cents=700)
    build.LedgerEntryFactory(order=build.WorkOrderFactory(season=season), fund=fund, amount_cents=9, book="match")
    row = _row(finance, season, "CITY")
    assert (row["spent_cents"], row["low_cents"], row["high_cents"]) == (700, 700, 700)
    assert row["chance_over"] == "no budget for this season"


def test_it_spreads_open_orders_as_their_estimates_do(finance, season):
    fund = build.FundFactory(code="CITY")
    build.SeasonFundFactory(season=season, code="CITY", budget_cents=50_000)
    _committed(season, fund)
    row = _row(finance, season, "CITY")
    sd = math.log(56_000 / 26_000) / (2 * NormalDist().inv_cdf(0.9))
    assert (row["committed_cents"], row["likely_cents"]) == (38_180, pytest.approx(38_180, abs=2))
    assert row["high_cents"] == pytest.approx(38_180 * math.exp(NormalDist().inv_cdf(0.9) * sd), rel=1e-4)
    assert row["chance_over"] == pytest.approx(100 * (1 - NormalDist().cdf(math.log(50_000 / 38_180) / sd)), abs=0.01)


def test_it_counts_a_closed_order_by_what_it_cost(finance, season):
    fund = build.FundFactory(code="CITY")
    _committed(season, fund, state="closed")
    _committed(season, fund)
    assert _row(finance, season, "CITY")["committed_cents"] == 38_180


def test_it_adds_what_is_planned_and_on_no_order(finance, season):
    paid = build.SeasonFundFactory(season=season, code="CITY", budget_cents=1)
    build.PrescriptionFactory(season=season, state="planned", fund=paid, share_left=0.5)
    build.PrescriptionFactory(season=season, state="open", fund=paid)
    row = _row(finance, season, "CITY")
    assert (row["planned_cents"], row["committed_cents"]) == (19_090, 0)
    assert row["chance_over"] == pytest.approx(100)


def test_it_says_that_there_is_no_season(finance):
    assert report_table(finance, "forecast", {}).told == ("There is no season yet.",)
