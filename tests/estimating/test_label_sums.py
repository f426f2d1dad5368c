from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.label_guard import check_applications
from estimating.labels import GuardPolicy, LimitKind
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
    found, other = caps_found([use(product_l=2)], prior, labels)
    assert (found.rows, found.proposed) == (("record 1", "order 1"), ("order 1",))
    assert found.total == pytest.approx(3 * 0.48 + 2 * 0.36) == sum(part.kg_ae_per_ha for part in found.counted)
    assert (found.product, other.product, other.total) == ("blue label", "green label", found.total)


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


SEASONS = ((date(2026, 10, 1), date(2027, 4, 30)), (date(2027, 10, 1), date(2028, 4, 30)))


@pytest.mark.parametrize(
    ("earlier", "count"),
    [
        (date(2026, 10, 1), 1),
        (date(2026, 9, 30), 0),
        (date(2027, 4, 30), 1),
        (date(2027, 10, 1), 0),
    ],
)
def test_it_counts_a_season_from_its_first_to_its_last_day(earlier, count):
    label_ = label(caps=[cap(year="season")])
    prior = [use(row="record 1", on=earlier, product_l=TO_THE_CAP_L)]
    policy = GuardPolicy(today=POLICY.today, seasons=SEASONS)
    found = check_applications([use(product_l=1)], prior, {"blue label": label_}, policy)
    assert len(found) == count


def test_it_counts_the_year_before_a_use_that_no_season_holds():
    label_, between = label(caps=[cap(year="season")]), use(product_l=1, on=date(2027, 7, 1))
    policy = GuardPolicy(today=POLICY.today, seasons=SEASONS)
    prior = [use(row="record 1", on=date(2026, 7, 2), product_l=TO_THE_CAP_L)]
    (found,) = check_applications([between], prior, {"blue label": label_}, policy)
    assert found.rows == ("record 1", "order 1")
    long_ago = [use(row="record 1", on=date(2026, 7, 1), product_l=TO_THE_CAP_L)]
    assert check_applications([between], long_ago, {"blue label": label_}, policy) == ()


def test_it_sums_what_lies_on_the_same_ground_under_two_names():
    uses = [use(row="order 1", product_l=TO_THE_CAP_L * 0.6)]
    prior = [use(row="order 2", patch="patch 2", product_l=TO_THE_CAP_L * 0.6)]
    labels = {"blue label": label()}
    assert check_applications(uses, prior, labels, POLICY) == ()
    grounds = [frozenset({"order 1", "order 2"})]
    (found,) = check_applications(uses, prior, labels, POLICY, grounds)
    assert (found.rows, found.proposed) == (("order 1", "order 2"), ("order 1",))


def test_it_leaves_pieces_of_one_patch_apart_that_share_no_ground():
    uses = [use(row=row, product_l=TO_THE_CAP_L * 0.6) for row in ("order 1", "order 2")]
    grounds = [frozenset({"order 1"}), frozenset({"order 2"})]
    assert check_applications(uses, [], {"blue label": label()}, POLICY, grounds) == ()


def test_it_leaves_no_use_out_that_the_grounds_forgot():
    over = use(product_l=TO_THE_CAP_L * 1.1)
    assert len(check_applications([over], [], {"blue label": label()}, POLICY, [frozenset({"other"})])) == 1


def test_it_tells_the_same_excess_once_with_all_that_is_behind_it():
    uses = [use(row=f"order {n}", product_l=TO_THE_CAP_L * 0.6) for n in (1, 2, 3)]
    grounds = [frozenset({"order 1", "order 2"}), frozenset({"order 1", "order 2", "order 3"})]
    (found,) = check_applications(uses, [], {"blue label": label()}, POLICY, grounds)
    assert found.rows == ("order 1", "order 2", "order 3")


def test_it_adds_up_the_products_of_one_mix_as_one_application():
    labels = {
        "blue label": label(caps=[cap(1.0, period="application"), cap(9.0)]),
        "green label": label(code="green label", caps=[cap(9.0)]),
    }
    mixed = [use(product_l=2.0), use(product="green label", product_l=2.0)]
    (found,) = caps_found(mixed, labels=labels)
    assert (found.rows, found.total) == (("order 1",), pytest.approx(1.44))
    assert [part.product for part in found.counted] == ["blue label", "green label"]


def test_it_holds_a_cap_of_one_use_to_that_use():
    labels = {"blue label": label(caps=[cap(9.0), cap(0.5, method="cut-stem")])}
    assert caps_found([use(product_l=2.0)], labels=labels) == []
    (found,) = caps_found([use(product_l=2.0, method="cut-stem")], labels=labels)
    assert found.limit == 0.5
    assert "by cut-stem" in found.message


def test_it_names_the_rows_with_days_and_amounts():
    prior = [use(row="work order 7, used 2027-01-09", on=date(2027, 1, 9), product_l=TO_THE_CAP_L)]
    (found,) = caps_found([use(product_l=1)], prior)
    assert "work order 7, used 2027-01-09, 2027-01-09: 5.556 L of Blue Label = 2.000 kg ae/ha" in found.message
    assert "2.360 kg ae/ha (2.11 lb ae/acre)" in found.message


def test_it_looks_ahead_to_open_orders_too():
    rolling = {"blue label": label(caps=[cap(year="rolling")])}
    later = use(row="order 9", on=date(2027, 11, 1), product_l=TO_THE_CAP_L)
    (found,) = caps_found([use(product_l=1)], [later], rolling)
    assert found.rows == ("order 1", "order 9")


def test_it_does_not_blame_a_proposal_for_earlier_years():
    rolling = {"blue label": label(caps=[cap(year="rolling")])}
    old = [use(row=f"record {n}", on=date(2024, 5, n), product_l=TO_THE_CAP_L) for n in (1, 2)]
    assert caps_found([use(product_l=1)], old, rolling) == []


@pytest.mark.parametrize(("area", "hectares"), [("treated", 1), ("infested", 2), ("gross", 5), ("site", 5)])
def test_it_divides_by_the_hectares_that_the_label_names(area, hectares):
    basis = {"blue label": label(caps=[cap(area=area)])}
    areas = {"infested_area_m2": 20_000.0}
    assert caps_found([use(product_l=TO_THE_CAP_L * hectares, **areas)], labels=basis) == []
    (found,) = caps_found([use(product_l=TO_THE_CAP_L * hectares * 1.02, **areas)], labels=basis)
    assert found.total == pytest.approx(2.04)
    assert sum(part.kg_ae / part.area_m2 * 10_000 for part in found.counted) == pytest.approx(2.04)


def test_it_takes_the_treated_area_where_the_infested_one_is_not_known():
    basis = {"blue label": label(caps=[cap(area="infested")])}
    (found,) = caps_found([use(product_l=TO_THE_CAP_L * 1.02)], labels=basis)
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


PRODUCTS = {
    "blue label": label(caps=[cap(), cap(1.0, period="application"), cap(1.5, year="rolling", area="gross")]),
    "green label": label(code="green label", caps=[cap(1.2, year="season")], uses={"cut-stem"}),
}
uses_made = st.builds(
    use,
    row=st.sampled_from([f"row {n}" for n in range(6)]),
    product=st.sampled_from(["blue label", "green label", "unheard of"]),
    on=st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    product_l=st.floats(0, 8),
    infested_area_m2=st.none() | st.floats(100, 50_000),
)
grounds_made = st.lists(st.frozensets(st.sampled_from([f"row {n}" for n in range(6)]), min_size=1), max_size=4)


def said(proposed, prior, grounds):
    policy = GuardPolicy(today=POLICY.today, seasons=SEASONS)
    found = check_applications(proposed, prior, PRODUCTS, policy, grounds)
    return {(finding.code, finding.product, finding.limit, finding.reference) for finding in found}


@settings(max_examples=150, deadline=None)
@given(
    st.lists(uses_made, min_size=1, max_size=4), st.lists(uses_made, max_size=4), uses_made, grounds_made, st.booleans()
)
def test_it_never_takes_a_finding_back_because_of_one_more_use(proposed, prior, one_more, grounds, is_prior):
    before = said(proposed, prior, grounds)
    after = said(proposed if is_prior else [*proposed, one_more], [*prior, one_more] if is_prior else prior, grounds)
    assert before <= after


def days_of_a_pass(days, **more):
    """A hectare done in equal parts, a day each, with a fair share of the cap."""
    facts = {"work": "prescription 1", "work_area_m2": 10_000.0, "treated_area_m2": 10_000.0 / days}
    return [
        use(row=f"day {n}", on=date(2027, 3, n), product_l=TO_THE_CAP_L / days, **(facts | more))
        for n in range(1, days + 1)
    ]


def test_it_does_not_stack_the_days_of_one_pass_over_a_patch():
    assert caps_found(days_of_a_pass(15)) == []
    (found,) = caps_found([*days_of_a_pass(14), use(row="day 15", product_l=TO_THE_CAP_L, on=date(2027, 3, 20))])
    assert len(found.rows) == 15


def test_it_tells_a_pass_as_one_part_that_can_be_worked_again():
    (found,) = caps_found(days_of_a_pass(4), [use(row="record 1", product_l=1, on=date(2027, 1, 9))])
    assert [part.row for part in found.counted] == ["record 1", "day 1 and on 3 more days"]
    assert all(part.kg_ae_per_ha == pytest.approx(part.kg_ae / (part.area_m2 / 10_000)) for part in found.counted)


def test_it_stacks_two_passes_over_the_same_patch():
    again = [replace(day, row=f"again {day.row}", work="prescription 2") for day in days_of_a_pass(3)]
    (found,) = caps_found(again, days_of_a_pass(3))
    assert found.total == pytest.approx(4.0)


def test_it_counts_the_densest_day_where_it_is_above_the_whole_pass():
    first, *others = days_of_a_pass(4)
    (found,) = caps_found([replace(first, product_l=first.product_l * 1.5), *others[:1]])
    assert found.total == pytest.approx(3.0)
    assert "densest of 2 days" in found.message


def test_it_counts_a_pass_that_put_more_down_than_its_whole_area_allows():
    (found,) = caps_found([*days_of_a_pass(2), *(replace(day, row=f"more {day.row}") for day in days_of_a_pass(2))])
    assert found.total == pytest.approx(4.0)
