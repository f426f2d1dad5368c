"""What the labels say of a mix that is tried, and figures that are kept back where a label forbids it."""

import pytest

from orders import flow
from orders.estimates.trying import Trial
from orders.supplies.models import Product
from tests import build
from tests.desk.pages.estimated import ON, estimates_made

pytestmark = pytest.mark.django_db
STEM = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 1.0}
HEAT = {"measure": "temperature_c", "low": 4.4, "high": 29.4}


def _mix(product, percent=25.0):
    build.PriceFactory(kind="product", code=product.code, price_e4=381_000)
    return build.MixFactory(code="TRIED", products=[(product, percent, "herbicide")], **STEM).code


def _try(estimate, **asked):
    return flow.try_estimate(estimate=estimate, asked=Trial(**asked), on=ON)


def _survey_says(estimate, **facts):
    type(estimate.survey).objects.filter(pk=estimate.survey_id).update(**facts)
    estimate.survey.refresh_from_db()


def test_it_asks_the_labels_about_the_mix_tried():
    made = estimates_made()["cut-stem"]
    tried, findings = _try(made, mix=_mix(build.ProductFactory()))
    assert (findings, tried.new is not None) == ((), True)


@pytest.mark.parametrize(("answer", "code"), [("yes", "soil-active-near-trees"), ("unknown", "tree-roots-unknown")])
def test_it_has_no_figures_for_a_mix_that_acts_through_the_soil_near_trees(answer, code):
    made = estimates_made()["cut-stem"]
    _survey_says(made, desirable_tree_roots=answer)
    tried, findings = _try(made, mix=_mix(build.ProductFactory(soil_active=True)))
    assert [one.code for one in findings if not one.overridable] == [code]
    assert (tried.new, tried.told, tried.notes[0]) == (None, None, flow.LABEL_REFUSES)


def test_it_has_no_figures_for_a_mix_that_is_too_strong():
    made = estimates_made()["cut-stem"]
    product = build.ProductFactory(uses=[{"method": "cut-stem", "max_percent_vv": 20.0}])
    tried, findings = _try(made, mix=_mix(product))
    assert ([one.code for one in findings], tried.new) == (["mix-too-strong"], None)


@pytest.mark.parametrize(("kind", "has_figures"), [("label-advisory", True), ("label-mandatory", False)])
def test_it_tells_that_the_label_is_for_cooler_days(kind, has_figures):
    made = estimates_made()["cut-stem"]
    product = build.ProductFactory(weather=[{**HEAT, "kind": kind}])
    tried, findings = _try(made, mix=_mix(product), air_temperature_f=98)
    assert [(one.code, one.total) for one in findings] == [("weather-temperature", 36.7)]
    assert (tried.new is not None) == has_figures


def test_it_tries_another_crew_of_an_estimate_whose_own_mix_is_refused():
    made = estimates_made()["cut-stem"]
    _survey_says(made, desirable_tree_roots="unknown")
    Product.objects.filter(code="MAST-41").update(soil_active=True)
    tried, findings = _try(made, people={"crew-member": 2, "applicator": 1, "sawyer": 1})
    assert "tree-roots-unknown" in {one.code for one in findings if not one.overridable}
    assert tried.new.hours_likely < made.hours_likely
