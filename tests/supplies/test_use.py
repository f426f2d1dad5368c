"""Products and mixes taken out of use and put back: what is in use rests on what is in use alone."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.common.use import NeedsOutOfUse, StillNeeded
from orders.supplies.labels import PartFacts, label_facts, parts_of
from orders.supplies.models import Mix, Product
from orders.supplies.services import (
    mix_activate,
    mix_add,
    mix_deactivate,
    mix_edit,
    product_activate,
    product_deactivate,
    product_edit,
)
from tests import build

pytestmark = pytest.mark.django_db
MIX = ("name", "tank_l", "area_basis", "carrier_l_per_ha")


@pytest.fixture
def product():
    return build.ProductFactory(name="Ketterline")


@pytest.fixture
def mix(product):
    return build.MixFactory(name="Leaf, 2%", products=[(product, 2.0, "herbicide")])


def _named(refused):
    return [error.message for error in refused.value.errors]


def _edit(mix, stamp, **changed):
    told = {name: getattr(mix, name) for name in MIX} | {"parts": parts_of(mix), "expected": mix.version}
    return mix_edit(mix=mix, stamp=stamp, **told | changed)


def test_a_product_goes_out_of_use_and_comes_back_with_a_record_each(product, stamp):
    product_deactivate(product=product, expected=1, stamp=stamp)
    assert not Product.objects.get().is_active
    product_activate(product=product, expected=2, stamp=stamp)
    assert Product.objects.get().is_active
    told = Change.objects.order_by("id").values_list("verb", "before", "after")
    gone, here = {"is_active": False}, {"is_active": True}
    assert list(told) == [("product_deactivate", here, gone), ("product_activate", gone, here)]


def test_a_stale_version_takes_nothing_out(product, stamp):
    with pytest.raises(VersionMismatch):
        product_deactivate(product=product, expected=2, stamp=stamp)
    assert Product.objects.get().is_active


def test_a_product_stays_while_mixes_in_use_hold_it_and_they_are_named(product, mix, stamp):
    build.MixFactory(name="Old", is_active=False, products=[(product, 3.0, "herbicide")])
    with pytest.raises(StillNeeded) as refused:
        product_deactivate(product=product, expected=1, stamp=stamp)
    assert _named(refused) == ["Leaf, 2%"]
    mix_deactivate(mix=mix, expected=1, stamp=stamp)
    assert not product_deactivate(product=product, expected=1, stamp=stamp).is_active


def test_an_edit_of_the_label_may_take_it_out_under_the_same_review(product, stamp):
    own = {name: getattr(product, name) for name in ("name", "registration_number", "is_herbicide")}
    asked = {"product": product, "label": label_facts(product), "stamp": stamp, **own}
    product_edit(expected=1, is_active=False, **asked)
    assert set(Change.objects.get(verb="product_edit").after or {}) == {"is_active"}
    product_edit(expected=2, **asked)
    assert not Product.objects.get().is_active


def test_an_edit_does_not_take_out_what_a_mix_holds(product, mix, stamp):
    own = {name: getattr(product, name) for name in ("name", "registration_number", "is_herbicide")}
    with pytest.raises(StillNeeded):
        product_edit(product=product, label=label_facts(product), is_active=False, expected=1, stamp=stamp, **own)
    assert Product.objects.get().is_active


def test_it_goes_into_no_new_mix_and_is_named_by_its_row(product, stamp):
    product_deactivate(product=product, expected=1, stamp=stamp)
    parts = [PartFacts(product=row, part="herbicide", percent_vv=1.0) for row in (build.ProductFactory(), product)]
    with pytest.raises(Invalid) as refused:
        mix_add(code="m", name="M", tank_l=15, area_basis="canopy", carrier_l_per_ha=400, parts=parts, stamp=stamp)
    (error,) = refused.value.errors
    assert (error.field, error.row, error.message) == ("parts.product", 2, "Ketterline is no longer in use.")
    assert not Mix.objects.exists()


def test_a_mix_in_use_takes_none_in(mix, stamp):
    gone = build.ProductFactory(is_active=False)
    with pytest.raises(Invalid) as refused:
        _edit(mix, stamp, parts=[*parts_of(mix), PartFacts(product=gone, part="adjuvant", percent_vv=1.0)])
    assert [(error.field, error.row) for error in refused.value.errors] == [("parts.product", 2)]


def test_a_mix_out_of_use_keeps_what_it_held_and_is_still_edited(product, mix, stamp):
    mix_deactivate(mix=mix, expected=1, stamp=stamp)
    product_deactivate(product=product, expected=1, stamp=stamp)
    assert _edit(mix, stamp, name="Leaf, as it was").name == "Leaf, as it was"
    other = build.ProductFactory(is_active=False)
    with pytest.raises(Invalid):
        _edit(mix, stamp, parts=[PartFacts(product=other, part="herbicide", percent_vv=1.0)])


def test_a_mix_comes_back_once_what_it_holds_is_in_use(product, mix, stamp):
    mix_deactivate(mix=mix, expected=1, stamp=stamp)
    product_deactivate(product=product, expected=1, stamp=stamp)
    with pytest.raises(NeedsOutOfUse) as refused:
        mix_activate(mix=mix, expected=2, stamp=stamp)
    assert _named(refused) == ["Ketterline"]
    with pytest.raises(Invalid):
        _edit(mix, stamp, is_active=True)
    product_activate(product=product, expected=2, stamp=stamp)
    assert mix_activate(mix=mix, expected=2, stamp=stamp).is_active


def test_a_mix_stays_while_methods_in_use_are_done_with_it(mix, stamp):
    build.MethodFactory(code="old", name="old spray", uses_herbicide=True, default_mix=mix, is_active=False)
    method = build.MethodFactory(code="spot", name="spot spray", uses_herbicide=True, default_mix=mix)
    for refused_by in (
        lambda: mix_deactivate(mix=mix, expected=1, stamp=stamp),
        lambda: _edit(mix, stamp, is_active=False),
    ):
        with pytest.raises(StillNeeded) as refused:
            refused_by()
        assert _named(refused) == ["Spot spray"]
    method.default_mix = None
    method.save()
    assert not mix_deactivate(mix=mix, expected=1, stamp=stamp).is_active
