"""A label read anew and reviewed, and mixes changed: one record each, no review older than its facts."""

from dataclasses import replace
from datetime import date

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.supplies.labels import CapFacts, PartFacts, UseFacts, label_facts, parts_of
from orders.supplies.selectors import mix_get, product_get
from orders.supplies.services import mix_edit, product_edit, product_review
from tests import build

pytestmark = pytest.mark.django_db
LATER, SOONER, TO_COME = date(2026, 11, 20), date(2026, 10, 1), date(2031, 1, 1)


@pytest.fixture
def product():
    return product_get(build.ProductFactory(reviewed_on=date(2026, 11, 2)).public_id)


def put(product, stamp, label=None, expected=1, **own):
    told = {"name": product.name, "registration_number": product.registration_number, "is_herbicide": True}
    return product_edit(
        product=product, label=label or label_facts(product), expected=expected, stamp=stamp, **told | own
    )


def test_it_replaces_uses_and_records_what_differs(product, stamp):
    label = replace(label_facts(product), uses=(UseFacts(method="cut-stem", max_percent_vv=50),), reviewed_on=LATER)
    put(product, stamp, label)
    kept = product_get(product.public_id)
    told = Change.objects.get(verb="product_edit")
    assert (kept.uses, kept.reviewed_on, kept.version) == (["cut-stem"], LATER, 2)
    assert set(told.after or {}) == {"uses", "reviewed_on"}


def test_it_records_nothing_where_nothing_differs(product, stamp):
    put(product, stamp)
    assert product_get(product.public_id).version == 1
    assert not Change.objects.filter(verb="product_edit").exists()


def test_it_takes_no_facts_under_the_review_of_those_before(product, stamp):
    with pytest.raises(Invalid) as refusal:
        put(product, stamp, replace(label_facts(product), rain_free_hours=2.0))
    assert [error.field for error in refusal.value.errors] == ["reviewed_on"]
    put(product, stamp, replace(label_facts(product), rain_free_hours=2.0, reviewed_on=LATER))
    assert product_get(product.public_id).rain_free_hours == 2.0


@pytest.mark.parametrize(("reviewed_on", "field"), [(SOONER, "reviewed_on"), (TO_COME, "reviewed_on")])
def test_it_takes_no_facts_under_an_older_review_or_one_to_come(product, stamp, reviewed_on, field):
    label = replace(label_facts(product), rain_free_hours=2.0, reviewed_on=reviewed_on)
    with pytest.raises(Invalid) as refusal:
        put(product, stamp, label)
    assert [error.field for error in refusal.value.errors] == [field]
    assert product_get(product.public_id).rain_free_hours is None


def test_it_keeps_facts_that_nobody_reviewed_as_that(product, stamp):
    label = replace(label_facts(product), rain_free_hours=2.0, reviewed_on=None, reviewed_by="")
    put(product, stamp, label)
    assert product_get(product.public_id).reviewed_on is None


def test_it_names_the_row_of_a_limit_that_cannot_be(product, stamp):
    wrong = CapFacts(
        ingredient="glyphosate",
        kg_ae_per_ha=1.0,
        period="decade",
        area_basis="treated",
        year_basis="calendar",
        kind="label-mandatory",
        reference="4",
    )
    label = label_facts(product)
    with pytest.raises(Invalid) as refusal:
        put(product, stamp, replace(label, caps=(*label.caps, wrong), reviewed_on=LATER))
    assert [(error.field, error.row) for error in refusal.value.errors] == [("caps.period", len(label.caps) + 1)]


def test_it_refuses_an_edit_of_an_older_version(product, stamp):
    with pytest.raises(VersionMismatch):
        product_review(product=product, reviewed_on=LATER, reviewed_by="Q. Licensed", expected=7, stamp=stamp)


def test_it_keeps_a_review_with_its_name(product, stamp):
    product_review(product=product, reviewed_on=LATER, reviewed_by="Q. Licensed", expected=1, stamp=stamp)
    kept = product_get(product.public_id)
    assert (kept.reviewed_on, kept.reviewed_by, kept.uses) == (LATER, "Q. Licensed", product.uses)


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"reviewed_on": SOONER, "reviewed_by": "Q."}, "reviewed_on"),
        ({"reviewed_on": LATER, "reviewed_by": " "}, "reviewed_by"),
    ],
)
def test_it_takes_no_review_that_is_older_or_nobodys(product, stamp, told, field):
    with pytest.raises(Invalid) as refusal:
        product_review(product=product, expected=1, stamp=stamp, **told)
    assert field in [error.field for error in refusal.value.errors]


def test_it_changes_a_mix_and_its_parts(stamp):
    mix = mix_get(build.MixFactory().public_id)
    (part,) = parts_of(mix)
    dye = PartFacts(product=build.ProductFactory(is_herbicide=False), part="dye", percent_vv=0.5)
    mix_edit(
        mix=mix,
        name="Stronger",
        tank_l=10.0,
        area_basis="infested",
        carrier_l_per_ha=300.0,
        parts=[replace(part, percent_vv=3.0), dye],
        expected=1,
        stamp=stamp,
    )
    kept = mix_get(mix.public_id)
    assert (kept.name, kept.version, [one.percent_vv for one in kept.parts.all()]) == ("Stronger", 2, [3.0, 0.5])


def test_it_refuses_a_mix_without_parts_and_keeps_the_old(stamp):
    mix = mix_get(build.MixFactory().public_id)
    with pytest.raises(Invalid) as refusal:
        mix_edit(
            mix=mix, name="", tank_l=1, area_basis="canopy", carrier_l_per_ha=1.0, parts=[], expected=1, stamp=stamp
        )
    assert {error.field for error in refusal.value.errors} == {"name", "parts"}
    assert mix_get(mix.public_id).parts.count() == 1
