from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.label_guard import check_applications
from estimating.labels import LimitKind
from tests.estimating.labelled import POLICY, cap, label, use

# 360 g/l: 1 litre on a hectare is 0.36 kg ae/ha.
TO_THE_CAP_L = 2.0 / 0.36


def caps_found(proposed, prior=(), labels=None):
    found = check_applications(proposed, prior, labels or {"blue label": label()}, POLICY)
    return [finding for finding in found if finding.code.endswith("-cap")]


def test_it_allows_up_to_the_cap_and_names_the_sum_beyond_it():
    assert caps_found([use(product_l=TO_THE_CAP_L)]) == []
    (found,) = caps_found([use(product_l=TO_THE_CAP_L * 1.01)])
    assert (found.limit, found.total, found.unit) == (2.0, pytest.approx(2.02), "kg ae/ha")
    assert "2.020 kg ae/ha" in found.message
    assert "order 1" in found.message


def test_it_sums_over_products_with_the_same_ingredient():
    labels = {"blue label": label(), "green label": label(code="green label", ingredients={"glyphosate": 480.0})}
    prior = [use(row="record 1", product="green label", product_l=3, on=date(2027, 1, 9))]
    (found,) = caps_found([use(product_l=2)], prior, labels)
    assert found.rows == ("record 1", "order 1")
    assert found.total == pytest.approx(3 * 0.48 + 2 * 0.36)


def test_it_sums_what_is_proposed_together():
    uses = [use(row=f"order {n}", product_l=TO_THE_CAP_L * 0.6) for n in (1, 2)]
    (found,) = caps_found(uses)
    assert found.rows == ("order 1", "order 2")


def test_it_leaves_other_patches_and_other_years_alone():
    full = {"product_l": TO_THE_CAP_L}
    elsewhere = use(row="a", patch="patch 9", **full)
    last_year = use(row="b", on=date(2026, 12, 31), **full)
    assert caps_found([use(**full)], [elsewhere, last_year]) == []


@pytest.mark.parametrize(
    ("earlier", "count"), [(date(2026, 3, 10), 0), (date(2026, 3, 11), 1), (date(2026, 12, 31), 1)]
)
def test_it_looks_back_365_days_where_the_label_says_so(earlier, count):
    rolling = {"blue label": label(caps=[cap(year="rolling")])}
    prior = [use(row="record 1", on=earlier, product_l=TO_THE_CAP_L)]
    assert len(caps_found([use(product_l=1)], prior, rolling)) == count


def test_it_looks_ahead_to_open_orders_too():
    rolling = {"blue label": label(caps=[cap(year="rolling")])}
    later = use(row="order 9", on=date(2027, 11, 1), product_l=TO_THE_CAP_L)
    (found,) = caps_found([use(product_l=1)], [later], rolling)
    assert found.rows == ("order 1", "order 9")


def test_it_does_not_blame_a_proposal_for_earlier_years():
    rolling = {"blue label": label(caps=[cap(year="rolling")])}
    old = [use(row=f"record {n}", on=date(2024, 5, n), product_l=TO_THE_CAP_L) for n in (1, 2)]
    assert caps_found([use(product_l=1)], old, rolling) == []


def test_it_counts_hectares_of_the_site_where_the_label_says_so():
    by_site = {"blue label": label(caps=[cap(area="site")])}
    assert caps_found([use(product_l=TO_THE_CAP_L * 5)], labels=by_site) == []
    (found,) = caps_found([use(product_l=TO_THE_CAP_L * 5.1)], labels=by_site)
    assert found.total == pytest.approx(2.04)


def test_it_keeps_each_application_under_its_own_cap():
    both = {"blue label": label(caps=[cap(), cap(1.0, period="application")])}
    (found,) = caps_found([use(product_l=3)], [use(row="record 1", product_l=2.5)], both)
    assert (found.code, found.rows, found.total) == ("application-cap", ("order 1",), pytest.approx(1.08))


def test_it_carries_the_kind_of_the_cap():
    advisory = {"blue label": label(caps=[cap(kind=LimitKind.ADVISORY)])}
    (found,) = caps_found([use(product_l=10)], labels=advisory)
    assert found.overridable


@given(st.lists(st.floats(0, 2), min_size=1, max_size=6), st.sampled_from(["calendar", "rolling"]))
def test_it_refuses_exactly_what_passes_the_cap_in_a_year(amounts, year):
    labels = {"blue label": label(caps=[cap(year=year)])}
    uses = [use(row=f"order {n}", on=date(2027, 3, n + 1), product_l=litres) for n, litres in enumerate(amounts)]
    over = sum(amounts) * 0.36 > 2.0 * (1 + 1e-9)
    assert bool(caps_found(uses, labels=labels)) == over
