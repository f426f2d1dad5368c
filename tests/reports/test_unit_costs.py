"""What an area of treated ground cost, and what an area of cover that is gone cost."""

from datetime import date

import pytest

from orders.reports.catalog import report_table
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


def _treated(percent=100, area_done_m2=None):
    """1,000 square meters of estimate at 40% cover, and 500 dollars spent."""
    asked = build.PrescriptionFactory(state="done")
    close_out = build.CloseOutFactory()
    build.PatchOutcomeFactory(
        close_out=close_out, prescription=asked, percent_complete=percent, area_done_m2=area_done_m2
    )
    build.LedgerEntryFactory(order=close_out.order, prescription=asked, amount_cents=50_000)
    return asked


def _check(asked, cover, on=date(2027, 6, 1)):
    """The check is done; a survey of that day says what is left on the same ground."""
    check = build.PrescriptionFactory(
        patch=asked.patch, follows=asked, purpose="check", state="done", season=asked.season
    )
    build.PatchOutcomeFactory(close_out=build.CloseOutFactory(work_date=on), prescription=check)
    later = build.SurveyFactory(patch=asked.patch, observed_on=on, components=[])
    build.SurveyComponentFactory(survey=later, cover_low=cover, cover_likely=cover, cover_high=cover)


def _row(finance):
    table = report_table(finance, "unit-cost", {})
    keys = [column.key for column in table.columns]
    return next(dict(zip(keys, row, strict=True)) for row in table.rows if row[1] == 50_000)


@pytest.mark.parametrize(
    ("how", "treated", "hectare_cents"),
    [({}, 1_000, 500_000), ({"percent": 50}, 500, 1_000_000), ({"percent": 50, "area_done_m2": 800.0}, 800, 625_000)],
)
def test_it_goes_by_what_the_close_out_states(finance, how, treated, hectare_cents):
    _treated(**how)
    row = _row(finance)
    assert (row["treated_m2"], row["hectare_cents"]) == (treated, hectare_cents)
    assert row["acre_cents"] == round(hectare_cents * 0.40468564224)


def test_it_says_that_nobody_checked_yet(finance):
    _treated()
    assert _row(finance)["gone_m2_cents"] == "no check yet"


def test_it_divides_by_the_cover_that_a_check_found_gone(finance):
    asked = _treated()
    before = asked.estimate.survey.components.get()
    _check(asked, cover=0.1)
    gone = before.infested_area_m2 * before.cover_likely - 1_000 * 0.1
    row = _row(finance)
    assert row["gone_m2"] == pytest.approx(gone)
    assert row["gone_m2_cents"] == round(50_000 / gone)


def test_it_has_no_unit_cost_where_cover_grew(finance):
    _check(_treated(), cover=1.0)
    row = _row(finance)
    assert row["gone_m2"] < 0
    assert row["gone_m2_cents"] is None
