from dataclasses import replace
from datetime import date

import pytest

from estimating.mix_order import FORMULATIONS as ORDER
from estimating.mix_order import OIL
from orders.common.errors import Invalid
from orders.common.models import Change
from orders.supplies.labels import CapFacts, LabelFacts, UseFacts, WeatherFacts
from orders.supplies.models import FORMULATIONS, Product
from orders.supplies.services import product_add

pytestmark = pytest.mark.django_db
CAP = CapFacts(
    ingredient="triclopyr",
    kg_ae_per_ha=9.0,
    period="year",
    area_basis="treated",
    year_basis="calendar",
    kind="label-mandatory",
    reference="section 4",
)
USE = UseFacts(method="cut-stem", max_percent_vv=50, max_l_per_ha=9.5, reference="section 3")
COLD = WeatherFacts(measure="temperature_c", low=4.4, kind="label-advisory", reference="section 2")
LABEL = LabelFacts(
    label_version="2026-01",
    label_reference="invented",
    reviewed_on=date(2026, 11, 2),
    reviewed_by="Pia Rowan",
    states=("KY",),
    uses=(USE,),
    weather=(COLD,),
    ingredients={"triclopyr": 360.0},
    caps=(CAP,),
)


def add(stamp, label=LABEL, **changed):
    facts = {"code": "tea-360", "name": "Invented T-360", "registration_number": "99901-2"}
    return product_add(stamp=stamp, label=label, **facts | changed)


def test_it_keeps_the_label_its_ingredients_and_its_caps(stamp):
    product = Product.objects.get(pk=add(stamp).pk)
    assert (product.states, product.uses) == (["KY"], ["cut-stem"])
    assert [(use.max_percent_vv, use.max_l_per_ha) for use in product.label_uses.all()] == [(50, 9.5)]
    assert [(limit.low, limit.high) for limit in product.label_weather.all()] == [(4.4, None)]
    assert [(part.ingredient, part.ae_g_per_l) for part in product.ingredients.all()] == [("triclopyr", 360.0)]
    assert [(cap.kg_ae_per_ha, cap.kind) for cap in product.caps.all()] == [(9.0, "label-mandatory")]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"reviewed_by": " "}, "reviewed_by"),
        ({"reviewed_on": None}, "reviewed_on"),
        ({"reviewed_on": date(2999, 1, 1)}, "reviewed_on"),
    ],
)
def test_it_takes_no_review_that_nobody_made_or_that_is_to_come(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        add(stamp, replace(LABEL, **changed))
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Product.objects.exists()


def test_it_keeps_how_soon_and_how_often_the_label_allows_it_again(stamp):
    product = add(stamp, replace(LABEL, uses=(replace(USE, least_days_between=30, most_uses_a_year=2),)))
    assert [(use.least_days_between, use.most_uses_a_year) for use in product.label_uses.all()] == [(30, 2)]


def test_it_reads_the_words_for_bases_that_older_documents_hold(stamp):
    product = add(stamp, replace(LABEL, caps=(replace(CAP, area_basis="site", year_basis="rolling"),)))
    assert [(cap.area_basis, cap.year_basis) for cap in product.caps.all()] == [("gross", "12 months")]


def test_it_records_label_ingredients_and_caps(stamp):
    product = add(stamp)
    after = Change.objects.get(entity_id=product.public_id).after or {}
    assert (after["ingredients"], after["caps"][0]["kg_ae_per_ha"]) == ({"triclopyr": 360.0}, 9.0)
    assert (after["reviewed_on"], after["uses"][0]["method"]) == ("2026-11-02", "cut-stem")


def test_it_takes_an_adjuvant_without_ingredients(stamp):
    product = add(stamp, LabelFacts(), code="dye", is_herbicide=False)
    assert product.states == []


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"ingredients": {}, "caps": ()}, "ingredients"),
        ({"ingredients": {"triclopyr": 0.0}}, "ingredients"),
        ({"ingredients": {"glyphosate": 480.0}}, "caps"),
        ({"uses": (replace(USE, max_percent_vv=101),)}, "uses"),
        ({"uses": (replace(USE, max_l_per_ha=0),)}, "uses"),
        ({"uses": (replace(USE, least_days_between=-1),)}, "uses.least_days_between"),
        ({"uses": (replace(USE, most_uses_a_year=0),)}, "uses"),
        ({"uses": (USE, USE)}, "uses"),
        ({"weather": (replace(COLD, high=1),)}, "weather"),
        ({"weather": (replace(COLD, low=None),)}, "weather"),
        ({"weather": (replace(COLD, measure="rain"),)}, "weather.measure"),
        ({"caps": (replace(CAP, kg_ae_per_ha=0),)}, "caps"),
        ({"caps": (replace(CAP, period="week"),)}, "caps.period"),
        ({"caps": (replace(CAP, reference="  "),)}, "caps"),
        ({"caps": (replace(CAP, method="basal-bark"),)}, "caps"),
        ({"restricted_entry_hours": -1}, "restricted_entry_hours"),
    ],
)
def test_it_names_the_field_that_is_wrong_and_adds_nothing(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        add(stamp, replace(LABEL, **changed))
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Product.objects.exists()


def test_it_numbers_the_cap_that_is_wrong(stamp):
    with pytest.raises(Invalid) as refusal:
        add(stamp, replace(LABEL, caps=(CAP, replace(CAP, kind="hearsay"))))
    assert [(error.field, error.row) for error in refusal.value.errors] == [("caps.kind", 2)]


def test_it_knows_the_formulations_that_the_order_of_mixing_knows(stamp):
    assert {word for word, _ in FORMULATIONS} == {*ORDER, OIL}
    assert add(stamp, replace(LABEL, formulation="emulsion")).formulation == "emulsion"
    with pytest.raises(Invalid) as error:
        add(stamp, replace(LABEL, formulation="powder"), code="other")
    assert [one.field for one in error.value.errors] == ["formulation"]
