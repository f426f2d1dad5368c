"""Days on which products were used on patches, by uses told one by one and by the close-outs that stand."""

from datetime import date

import pytest

from orders.planning.windows import SeasonWindows
from orders.workorders.product_uses import herbicide_use_days
from tests import build

pytestmark = pytest.mark.django_db


def used(state="closed", *, whole_visit=False):
    """A close-out of an order with one visit that used a product; the patch's key and the product's code."""
    order = build.WorkOrderFactory(state=state)
    prescription = build.PrescriptionFactory()
    visit = build.VisitFactory(prescriptions=[prescription], state="done")
    build.OrderVisitFactory(order=order, visit=visit)
    close_out = build.CloseOutFactory(order=order)
    named = None if whole_visit else prescription
    use = build.MaterialUseFactory(close_out=close_out, visit=visit, prescription=named)
    return prescription.patch_id, use.lot.product.code, use, close_out


def test_it_tells_the_day_of_a_use_on_a_patch():
    patch, code, use, _ = used()
    assert herbicide_use_days() == {(patch, code): [use.work_date]}


def test_it_counts_all_patches_of_a_visit_where_none_was_named():
    patch, code, _, _ = used(whole_visit=True)
    assert list(herbicide_use_days()) == [(patch, code)]


def test_it_does_not_count_what_was_amended_or_is_open():
    used("issued")
    *_, close_out = used()
    build.CloseOutFactory(order=close_out.order, revision=2, amends=close_out)
    assert herbicide_use_days() == {}


def applied(order, patch=None, **more):
    """A use that the crew told of, with `herb` and a dye in the mix."""
    mixed = [build.ProductFactory(code="herb"), build.ProductFactory(code="dye", is_herbicide=False)]
    batch = build.MixBatchFactory(parts=[{"product": product} for product in mixed])
    return build.ApplicationFactory(order=order, batch=batch, prescription=patch, **more)


def test_it_knows_of_uses_on_orders_that_are_still_open():
    order, prescription = build.WorkOrderFactory(state="underway"), build.PrescriptionFactory()
    use = applied(order, prescription)
    assert herbicide_use_days() == {(prescription.patch_id, "herb"): [use.work_date]}


def test_it_counts_a_use_once_that_the_close_out_states_again_on_another_day():
    patch, code, use, close_out = used()
    batch = build.MixBatchFactory(parts=[{"product": use.lot.product, "lot": use.lot}])
    day = date(2027, 2, 11)
    build.ApplicationFactory(order=close_out.order, batch=batch, prescription=use.prescription, work_date=day)
    assert (use.work_date != day, herbicide_use_days()) == (True, {(patch, code): [day]})


def test_it_counts_all_patches_of_the_order_where_a_use_names_none():
    order = build.WorkOrderFactory(state="underway")
    asked = [build.PrescriptionFactory() for _ in range(2)]
    build.OrderVisitFactory(order=order, visit=build.VisitFactory(prescriptions=asked, state="ordered"))
    applied(order)
    assert {patch for patch, _ in herbicide_use_days()} == {row.patch_id for row in asked}


def test_it_does_not_count_a_use_that_was_corrected():
    order, prescription = build.WorkOrderFactory(state="underway"), build.PrescriptionFactory()
    first = applied(order, prescription)
    build.ApplicationFactory(
        order=order, batch=first.batch, prescription=prescription, work_date=date(2027, 2, 9), replaces=first
    )
    assert list(herbicide_use_days().values()) == [[date(2027, 2, 9)]]


def test_windows_know_of_it_without_being_told():
    patch, code, use, _ = used()
    season = build.SeasonFactory(first_day=date(2027, 1, 4), last_day=date(2027, 12, 17))
    assert SeasonWindows(season).uses == {(patch, code): [use.work_date]}
