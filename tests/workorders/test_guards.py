"""What must hold before a crew is sent out; each refusal says what and why."""

from datetime import UTC, date, datetime

import pytest

from orders.common.errors import Invalid
from orders.common.stamp import Stamp
from orders.estimates.models import Estimate, Method
from orders.planning.models import Prescription
from orders.supplies.models import Mix, Product
from orders.workorders.guards import (
    ChecklistOpen,
    LabelForbids,
    LicenseMissing,
    MixMissing,
    OutOfUse,
    checklist_refuse,
    issue_refuse,
    label_refuse,
    licenses_refuse,
    start_refuse,
)
from orders.workorders.services import order_override_add
from tests import build
from tests.workorders.orders import SPRAY, TODAY, herbicide, issued, spray_order

pytestmark = pytest.mark.django_db


def _label_codes(order):
    with pytest.raises(LabelForbids) as refused:
        label_refuse(order, today=TODAY)
    return {error.code for error in refused.value.errors}


def test_it_lets_a_sound_order_pass(stamp):
    issue_refuse(spray_order(), stamp=stamp)


def _without_products(order):
    """The same work by an estimate that knows no mix."""
    known = Estimate.objects.get()
    Prescription.objects.update(estimate=build.EstimateFactory(survey=known.survey, method=known.method))
    return order


def test_it_refuses_herbicide_that_no_label_was_looked_at_for(stamp):
    order = _without_products(spray_order())
    with pytest.raises(MixMissing) as refused:
        issue_refuse(order, stamp=stamp)
    assert "mix" in refused.value.errors[0].message


def test_it_asks_no_mix_of_work_by_hand(stamp):
    order = _without_products(spray_order())
    Method.objects.update(uses_herbicide=False)
    issue_refuse(order, stamp=stamp)


def _out_of_use(order, stamp):
    with pytest.raises(OutOfUse) as refused:
        issue_refuse(order, stamp=stamp)
    return [error.message.split(":")[0] for error in refused.value.errors]


def test_it_sends_nobody_out_with_a_product_that_was_withdrawn(stamp):
    order = spray_order(product=herbicide(name="Ketterline"))
    Product.objects.update(is_active=False)
    assert _out_of_use(order, stamp) == ["Ketterline is no longer in use"]
    Product.objects.update(is_active=True)
    issue_refuse(order, stamp=stamp)


def test_it_sends_nobody_out_with_a_mix_that_is_out_of_use(stamp):
    order, known = spray_order(), Estimate.objects.get()
    facts = {"survey": known.survey, "method": known.method, "products_ul": known.products_ul}
    Prescription.objects.update(estimate=build.EstimateFactory(mix=build.MixFactory(name="Leaf, 2%"), **facts))
    issue_refuse(order, stamp=stamp)
    Mix.objects.update(is_active=False)
    assert _out_of_use(order, stamp) == ["Leaf, 2% is no longer in use"]


def test_an_order_that_was_issued_is_started_all_the_same():
    order = issued(spray_order())
    Product.objects.update(is_active=False)
    start_refuse(order, stamp=Stamp(by=None, at=datetime(2027, 2, 10, 15, tzinfo=UTC)))


def test_it_refuses_while_the_sites_checklist_is_open():
    order = spray_order()
    build.ChecklistQuestionFactory(code="rare-plants")
    with pytest.raises(ChecklistOpen) as refused:
        checklist_refuse(order)
    assert [error.field for error in refused.value.errors] == ["rare-plants"]


def test_it_passes_once_the_checklist_is_answered():
    order = spray_order()
    question = build.ChecklistQuestionFactory(code="rare-plants")
    build.ChecklistAnswerFactory(site=order.site, question=question)
    checklist_refuse(order)


def test_it_refuses_a_crew_without_the_license():
    with pytest.raises(LicenseMissing, match="may not do all"):
        licenses_refuse(spray_order(crew_qualified=False))


def test_it_refuses_a_license_that_has_run_out_by_the_day():
    with pytest.raises(LicenseMissing):
        licenses_refuse(spray_order(), on=date(2028, 1, 1))


def test_it_refuses_a_use_that_the_label_does_not_allow():
    product = build.ProductFactory(code="herb", uses=["cut-stem"])
    assert _label_codes(spray_order(product=product)) == {"use-not-allowed"}


def test_it_refuses_a_product_that_is_not_registered_in_the_state():
    product = build.ProductFactory(code="herb", uses=[SPRAY], states=["TN"])
    assert _label_codes(spray_order(product=product)) == {"not-registered"}


def test_it_refuses_a_soil_active_product_near_desirable_trees():
    product = build.ProductFactory(code="herb", uses=[SPRAY], soil_active=True)
    assert _label_codes(spray_order(product=product, desirable_tree_roots="yes")) == {"soil-active-near-trees"}


def test_it_asks_for_a_survey_where_the_trees_are_not_known():
    product = build.ProductFactory(code="herb", uses=[SPRAY], soil_active=True)
    assert _label_codes(spray_order(product=product, desirable_tree_roots="unknown")) == {"tree-roots-unknown"}


def test_it_refuses_a_label_that_nobody_reviewed():
    product = build.ProductFactory(code="herb", uses=[SPRAY], reviewed_on=None)
    assert "label-not-reviewed" in _label_codes(spray_order(product=product))


def test_it_refuses_more_than_the_yearly_cap():
    # 0.1 ha x 8 kg/ha allows 0.8 kg, that is 1.667 L of 480 g/L
    spray_ok = spray_order(milliliters=1_600)
    label_refuse(spray_ok, today=TODAY)
    product = build.ProductFactory(code="more", uses=[SPRAY])
    assert _label_codes(spray_order(milliliters=1_700, product=product)) == {"year-cap"}


def test_it_sums_open_orders_on_the_same_ground():
    product = build.ProductFactory(code="herb", uses=[SPRAY])
    patch = build.PatchFactory()
    first = spray_order(milliliters=1_000, product=product, patch=patch)
    first.state = "issued"
    first.save()
    second = spray_order(milliliters=1_000, product=product, patch=patch, on=date(2027, 5, 10))
    with pytest.raises(LabelForbids) as refused:
        label_refuse(second, today=TODAY)
    assert f"work order {first.number}" in " ".join(error.message for error in refused.value.errors)


def test_it_sums_what_was_really_used_before():
    product = build.ProductFactory(code="herb", uses=[SPRAY])
    patch = build.PatchFactory()
    first = spray_order(milliliters=10, product=product, patch=patch)
    first.state = "closed"
    first.save()
    visit = first.order_visits.get().visit
    close_out = build.CloseOutFactory(order=first)
    lot = build.StockLotFactory(product=product)
    build.MaterialUseFactory(close_out=close_out, visit=visit, lot=lot, amount=1_000_000)
    assert _label_codes(spray_order(milliliters=1_000, product=product, patch=patch)) == {"year-cap"}


def test_it_lets_a_named_person_pass_a_policy_limit_with_a_reason(stamp):
    product = build.ProductFactory(code="herb", uses=[SPRAY], reviewed_on=date(2024, 1, 1))
    order = spray_order(product=product)
    assert _label_codes(order) == {"review-too-old"}
    override = {"order": order, "limit_kind": "program-policy", "limit": "review-too-old"}
    order_override_add(**override, stamp=stamp.because("Read again today."))
    label_refuse(order, today=TODAY)


def test_it_never_lets_anybody_pass_a_mandatory_limit(stamp):
    order = spray_order(product=build.ProductFactory(code="herb", uses=["cut-stem"]))
    override = {"order": order, "limit_kind": "label-mandatory", "limit": "use-not-allowed"}
    with pytest.raises(Invalid, match="label is the law"):
        order_override_add(**override, stamp=stamp.because("We always did."))
    build.LimitOverrideFactory(order=order, limit_kind="program-policy", limit="use-not-allowed")
    assert _label_codes(order) == {"use-not-allowed"}
