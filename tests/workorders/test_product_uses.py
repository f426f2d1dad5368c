"""Days on which products were used on patches, as the close-outs that stand say."""

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


def test_windows_know_of_it_without_being_told():
    patch, code, use, _ = used()
    season = build.SeasonFactory(first_day=date(2027, 1, 4), last_day=date(2027, 12, 17))
    assert SeasonWindows(season).last_uses == {(patch, code): [use.work_date]}
