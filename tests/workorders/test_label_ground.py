"""The guard sums what lies on the same ground: by outlines, over orders, products and names of patches."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.estimates.models import Estimate
from orders.planning.models import Visit
from orders.supplies.convert import product_label
from orders.workorders.guards import LabelForbids, label_refuse
from orders.workorders.label_checks import label_findings, label_findings_for
from orders.workorders.services import order_override_add
from tests import build
from tests.workorders.orders import TODAY, closed_with, elsewhere, herbicide, issued, spray_order

pytestmark = pytest.mark.django_db
LATER = date(2027, 5, 10)


@pytest.fixture
def product(db):
    """8 kg ae/ha a year of 480 g/l: 1,667 ml on the usual 0.1 ha."""
    return herbicide()


def said(order):
    return {finding.code: finding for finding in label_findings(order, today=TODAY)}


def test_it_sums_two_patches_with_different_names_on_the_same_ground(product):
    first = issued(spray_order(milliliters=1_000, product=product))
    second = spray_order(milliliters=1_000, product=product, on=LATER)
    found = said(second)["year-cap"]
    assert found.total == pytest.approx(2 * 0.48 / 0.1)
    assert [row.partition(",")[0] for row in found.rows] == [f"work order {order.number}" for order in (first, second)]


def test_it_leaves_ground_alone_that_only_touches(product):
    issued(spray_order(milliliters=1_000, product=product))
    beside = spray_order(milliliters=1_000, product=product, on=LATER, **elsewhere(east=0.001))
    assert said(beside) == {}


@pytest.mark.parametrize(("east", "codes"), [(0.000998, set()), (0.0009, {"year-cap"})])
def test_it_takes_a_strip_along_an_edge_for_a_drawing_error(product, east, codes):
    """0.000002 degrees are 17 cm of 111 m: 19 m2. A tenth of the side is 970 m2."""
    issued(spray_order(milliliters=1_000, product=product))
    assert set(said(spray_order(milliliters=1_000, product=product, on=LATER, **elsewhere(east=east)))) == codes


def test_it_keeps_the_history_of_a_patch_that_is_surveyed_anew(product):
    patch = build.PatchFactory()
    closed_with(spray_order(product=product, patch=patch))
    moved = elsewhere(east=0.005)
    assert set(said(spray_order(milliliters=1_000, product=product, patch=patch, on=LATER, **moved))) == {"year-cap"}


def test_it_keeps_the_history_of_ground_that_is_split_into_new_patches(product):
    closed_with(spray_order(product=product))
    half = elsewhere(side=0.0005)
    assert set(said(spray_order(milliliters=1_000, product=product, on=LATER, **half))) == {"year-cap"}


def test_it_finds_the_circle_of_a_point_that_was_treated(product):
    # 2 ha round a point 50 m beside the square: 80 m wide
    at = {"geometry": {"type": "Point", "coordinates": [-85.7006, 38.2005]}, "min_lon": -85.7006, "max_lon": -85.7006}
    dot = {**at, "min_lat": 38.2005, "max_lat": 38.2005, "area_m2": 20_000.0}
    closed_with(spray_order(product=product, **dot), amount=20_000_000)
    assert set(said(spray_order(milliliters=1_000, product=product, on=LATER))) == {"year-cap"}


def test_it_sums_other_products_with_the_same_ingredient(product):
    strong = herbicide(code="strong", ingredients={"glyphosate": 600.0})
    closed_with(spray_order(product=strong))
    order = spray_order(milliliters=1_000, product=product, on=LATER)
    found = [finding for finding in label_findings(order, today=TODAY) if finding.product == "herb"]
    assert [finding.total for finding in found] == [pytest.approx((0.6 + 0.48) / 0.1)]


def test_it_counts_what_was_used_on_the_part_that_got_done(product):
    closed_with(spray_order(milliliters=1_000, product=product), amount=500_000, percent=50)
    found = said(spray_order(milliliters=1_000, product=product, on=LATER))["year-cap"]
    assert [part.kg_ae_per_ha for part in found.counted] == [pytest.approx(4.8), pytest.approx(4.8)]


def test_it_counts_no_visit_that_was_called_off(product):
    order = issued(spray_order(milliliters=1_000, product=product))
    Visit.objects.filter(order_visit__order=order).update(state="not_done")
    assert said(spray_order(milliliters=1_000, product=product, on=LATER)) == {}


def test_it_counts_drafts_only_once_they_are_issued(product):
    spray_order(milliliters=1_000, product=product)
    assert said(spray_order(milliliters=1_000, product=product, on=LATER)) == {}


def test_it_refuses_ground_where_product_was_used_by_weight(product):
    lot = build.StockLotFactory(product=product, unit="mg")
    closed_with(spray_order(product=product), lot=lot, entered_unit="g")
    assert set(said(spray_order(product=product, on=LATER))) == {"earlier-use-uncounted"}


@pytest.mark.parametrize(("on", "codes"), [(date(2028, 2, 9), {"year-cap"}), (date(2028, 2, 10), set())])
def test_it_looks_back_to_the_edge_of_12_months(on, codes):
    rolling = herbicide(caps=[{"year_basis": "12 months"}])
    closed_with(spray_order(product=rolling), work_date=date(2027, 2, 10))
    order = spray_order(milliliters=1_000, product=rolling, on=on)
    assert {code for code in said(order) if code != "review-too-old"} == codes


def test_it_counts_the_season_of_the_program_where_the_label_does(product):
    build.SeasonFactory(name="Winter", first_day=date(2027, 10, 1), last_day=date(2028, 4, 30))
    by_season = herbicide(code="slow", caps=[{"year_basis": "season"}])
    closed_with(spray_order(product=by_season), work_date=date(2027, 12, 20))
    assert "year-cap" in said(spray_order(milliliters=1_000, product=by_season, on=date(2028, 1, 10)))


@pytest.mark.parametrize(("basis", "allowed_ml"), [("treated", 1_667), ("infested", 833), ("gross", 1_667)])
def test_it_divides_by_the_area_that_the_label_names(basis, allowed_ml):
    product = herbicide(caps=[{"area_basis": basis}])
    infested = {"components": [{"infested_area_m2": 500.0}]}
    assert said(spray_order(milliliters=allowed_ml - 1, product=product, **infested)) == {}
    assert set(said(spray_order(milliliters=allowed_ml + 1, product=product, **infested))) == {"year-cap"}


def test_it_lets_a_policy_pass_for_this_order_whoever_is_behind_the_sum(stamp):
    policy = {"kind": "program-policy", "kg_ae_per_ha": 5.0}
    product = herbicide(caps=[{}, policy])
    issued(spray_order(milliliters=600, product=product))
    order = spray_order(milliliters=600, product=product, on=LATER)
    with pytest.raises(LabelForbids):
        label_refuse(order, today=TODAY)
    as_advice = {"order": order, "limit_kind": "label-advisory", "limit": "year-cap"}
    order_override_add(**as_advice, stamp=stamp.because("A reason for another kind of limit."))
    with pytest.raises(LabelForbids):
        label_refuse(order, today=TODAY)
    order_override_add(**{**as_advice, "limit_kind": "program-policy"}, stamp=stamp.because("One dense corner."))
    label_refuse(order, today=TODAY)


def test_it_refuses_a_product_whose_cap_names_no_reference():
    product = herbicide(caps=[{"reference": "  "}])
    assert product_label(product).caps == ()
    assert set(said(spray_order(product=product))) == {"cap-without-reference", "cap-missing"}


def test_it_judges_estimates_each_by_itself_with_what_was_done_there(product):
    closed_with(spray_order(product=product))
    spray_order(milliliters=1_000, product=product)
    spray_order(milliliters=500, product=product)
    by_hand = build.EstimateFactory(method=build.MethodFactory(code="hand-pull", uses_herbicide=False))
    estimates = list(Estimate.objects.order_by("id"))
    found = label_findings_for(estimates, on=date(2027, 3, 1))
    codes = [[finding.code for finding in found[estimate.pk]] for estimate in estimates]
    assert codes == [[], ["year-cap"], [], []]
    assert found[by_hand.pk] == ()
    assert "estimate of" in found[estimates[1].pk][0].message


def test_it_asks_as_often_for_many_estimates_as_for_few(product):
    counts = []
    for _ in range(2):
        closed_with(spray_order(product=product))
        for _ in range(3):
            issued(spray_order(product=product))
        with CaptureQueriesContext(connection) as asked:
            label_findings_for(Estimate.objects.order_by("id"), on=TODAY)
        counts.append(len(asked))
    assert counts[0] == counts[1]
