"""How long one piece of work waits for another, and that labels lengthen it."""

from datetime import date

import pytest

from orders.planning.chain_ends import End
from orders.planning.chain_lags import Lag, lag_after
from tests import build

pytestmark = pytest.mark.django_db
FIRST, LAST = date(2027, 5, 1), date(2027, 6, 30)
END = End(FIRST, LAST, False)
SPRAY = "spot-foliar"


@pytest.fixture
def mix():
    """Of one product, for which each test says what its label allows."""
    return build.MixFactory(products=[(build.ProductFactory(uses=[]), 2.0, "herbicide")])


def allow(mix, **limits):
    build.LabelUseFactory(product=mix.parts.get().product, method=SPRAY, **limits)


def step(mix=None, **more):
    method = build.MethodFactory(code=SPRAY if mix else "monitor")
    estimate = build.EstimateFactory(method=method, mix=mix)
    return build.PrescriptionFactory(
        estimate=estimate, patch=estimate.survey.patch, first_day=FIRST, last_day=LAST, **more
    )


def test_without_a_label_it_is_the_rules_own(mix):
    assert lag_after(step(), step(mix).estimate, 14, 90, END) == Lag(14, 90)


def test_the_labels_days_between_two_uses_lengthen_it(mix):
    allow(mix, least_days_between=30)
    lag = lag_after(step(mix), step(mix).estimate, 14, 20, END)
    assert (lag.least_days, lag.most_days, lag.earliest(END)) == (30, 30, date(2027, 5, 31))
    assert lag.words(END).endswith("The label asks for these days between two uses.")
    assert lag_after(step(mix), step(mix).estimate, 45, 90, END).told == ""


def test_they_count_from_the_last_use_in_the_chain(mix):
    allow(mix, least_days_between=30)
    check = step(origin="follow_up", follows=step(mix), least_lag_days=20)
    assert lag_after(check, step(mix).estimate, 1, 90, END).least_days == 10


def test_another_product_does_not_count(mix):
    allow(mix, least_days_between=30)
    other = build.MixFactory()
    assert lag_after(step(other), step(mix).estimate, 14, 90, END).least_days == 14


def test_uses_a_year_that_are_made_put_it_off_to_the_new_year(mix):
    allow(mix, most_uses_a_year=2)
    once = step(mix)
    assert lag_after(once, step(mix).estimate, 14, 400, END).not_before is None
    twice = step(mix, origin="follow_up", follows=once, least_lag_days=14)
    lag = lag_after(twice, step(mix).estimate, 14, 400, END)
    assert lag.earliest(END) == date(2028, 1, 1)
    assert "no further use in 2027" in lag.words(END)


def test_uses_of_an_earlier_year_do_not_count_in_this_one(mix):
    allow(mix, most_uses_a_year=2)
    before = step(mix)
    type(before).objects.filter(pk=before.pk).update(first_day=date(2026, 5, 1), last_day=date(2026, 6, 1))
    before.refresh_from_db()
    after = step(mix, origin="follow_up", follows=before, least_lag_days=300)
    assert lag_after(after, step(mix).estimate, 14, 90, END).not_before is None
