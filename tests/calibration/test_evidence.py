"""Closed orders as evidence: like with like, measured hours only, and every order accounted for."""

import pytest

from orders.calibration.selectors import closed_orders_evidence
from tests import build
from tests.calibration.closed import closed_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def closed():
    return closed_build()


def evidence(closed):
    return closed_orders_evidence(closed.season).evidence


def left_out(closed):
    return [row.because for row in closed_orders_evidence(closed.season).left_out]


def test_it_sets_paid_hours_against_paid_hours_and_tells_them_in_field_hours(closed):
    closed.order(1.5)
    found = evidence(closed)[0]
    assert (found.recorded_paid_hours, found.estimated_paid_hours) == pytest.approx((24, 16))
    assert (found.actual_hours, found.estimated_hours, found.ratio) == pytest.approx((18, 12, 1.5))


def test_it_counts_only_the_part_that_was_done(closed):
    closed.order(1.2, percent=50, share=0.5)
    found = evidence(closed)[0]
    assert (found.estimated_hours, found.ratio) == pytest.approx((3, 1.2), rel=0.01)
    assert found.treated_area_m2 == pytest.approx(250)


@pytest.mark.parametrize("origin", ["prefilled", "allocated"])
def test_it_leaves_out_an_order_with_untouched_hours_and_says_why(closed, origin):
    closed.order(1.0, origin=origin)
    assert evidence(closed) == ()
    assert left_out(closed) == ["1 of its 1 time entries were filled in and never touched."]


def test_it_counts_shares_of_the_drive_beside_hours_that_were_measured(closed):
    close_out = closed.order(1.0).close_outs.get()
    hours = evidence(closed)[0].recorded_paid_hours
    build.TimeEntryFactory(close_out=close_out, origin="allocated", step="drive", minutes=60)
    assert evidence(closed)[0].recorded_paid_hours == pytest.approx(hours + 1)


def test_it_leaves_out_the_whole_order_where_part_of_its_hours_is_prefilled(closed):
    close_out = closed.order(1.0).close_outs.get()
    build.TimeEntryFactory(close_out=close_out, origin="prefilled")
    assert left_out(closed) == ["1 of its 2 time entries were filled in and never touched."]


def test_it_leaves_out_an_order_whose_amended_close_out_states_no_hours(closed):
    order = closed.order(1.0)
    build.CloseOutFactory(order=order, revision=2, amends=order.close_outs.get())
    assert left_out(closed) == ["Its close-out states no hours."]


def test_it_leaves_out_an_order_on_which_nothing_was_done(closed):
    order = closed.order(1.0)
    first = order.close_outs.get()
    second = build.CloseOutFactory(order=order, revision=2, amends=first)
    asked = first.outcomes.get().prescription
    build.PatchOutcomeFactory(close_out=second, prescription=asked, percent_complete=0)
    build.TimeEntryFactory(close_out=second, minutes=60)
    assert left_out(closed) == ["Nothing of what was estimated was done."]


def test_it_goes_by_the_amended_close_out(closed):
    order = closed.order(1.0)
    first = order.close_outs.get()
    second = build.CloseOutFactory(order=order, revision=2, amends=first)
    asked = first.outcomes.get().prescription
    build.PatchOutcomeFactory(close_out=second, prescription=asked, percent_complete=100)
    build.TimeEntryFactory(close_out=second, minutes=16 * 60 * 3)
    assert [row.ratio for row in evidence(closed)] == pytest.approx([3.0])


def test_it_keeps_an_order_that_took_eight_times_as_long(closed):
    closed.order(8.0)
    assert evidence(closed)[0].ratio == pytest.approx(8)


def test_it_shares_the_hours_out_by_method_and_growth_form(closed):
    closed.order(1.0, method="cut-stem", form="shrub")
    assert evidence(closed)[0].parts == [{"method": "cut-stem", "growth_form": "shrub", "share": 1.0}]


def test_it_goes_by_area_where_an_old_estimate_names_no_form(closed):
    components = [{"growth_form": 1, "infested_area_m2": 30.0}, {"growth_form": 2, "infested_area_m2": 10.0}]
    closed.order(1.0, result={"version": 1}, inputs={"version": 1, "components": components})
    shares = {part["growth_form"]: part["share"] for part in evidence(closed)[0].parts}
    assert shares == pytest.approx({"climbing": 0.75, "sprawling": 0.25})


def test_it_promises_the_range_of_the_estimate(closed):
    closed.order(1.0)
    found = evidence(closed)[0]
    log_sd = (0.25**2 + 0.15**2) ** 0.5
    assert found.high_hours / found.estimated_hours == pytest.approx(2.71828 ** (1.2816 * log_sd), rel=1e-3)
    assert (found.survey_log_sd, found.own_log_sd) == pytest.approx((0.07, 0.24))


def test_it_looks_at_closed_orders_of_the_season_alone(closed):
    closed.order(1.0)
    issued = closed.order(1.0)
    type(issued).objects.filter(pk=issued.pk).update(state="underway")
    other = build.SeasonFactory()
    assert len(evidence(closed)) == 1
    assert closed_orders_evidence(other).evidence == ()


def test_it_asks_the_database_no_more_often_for_more_orders(closed, django_assert_max_num_queries):
    for ratio in (1.0, 1.1, 1.2, 1.3, 1.4):
        closed.order(ratio)
    with django_assert_max_num_queries(6):
        assert len(evidence(closed)) == 5
