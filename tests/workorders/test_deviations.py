"""What was done outside a mandatory limit."""

import pytest

from orders.workorders.deviations import deviations_of
from tests import build

pytestmark = pytest.mark.django_db

WIND = {"kind": "label-mandatory", "words": "Wind 12 mph, at most 10 mph.", "product": "herb"}


def card(**use):
    told = {"method": "spot-foliar", "max_percent_vv": None, "max_l_per_ha": None, **use}
    return {"products": [{"code": "herb", "uses": [told]}]}


@pytest.fixture
def applied():
    """2% of 4 L on 1,000 m²: 0.8 L/ha."""
    method = build.MethodFactory(code="spot-foliar")
    batch = build.MixBatchFactory(parts=[{"product": build.ProductFactory(code="herb", name="Herb")}])
    asked = build.PrescriptionFactory(estimate__method=method)
    return build.ApplicationFactory(batch=batch, prescription=asked, area_m2=1000.0)


def found(applied, checks=(), **use):
    return [(row.code, row.message) for row in deviations_of(applied, checks, card(**use))]


def test_it_finds_none_within_the_limits(applied):
    calm = build.WeatherCheckFactory(findings=[{"kind": "label-advisory", "words": "Windy.", "product": "herb"}])
    assert found(applied, [calm], max_percent_vv=2.0, max_l_per_ha=0.8) == []


def test_it_tells_weather_outside_a_mandatory_limit_once(applied):
    checks = [build.WeatherCheckFactory(verdict="no_go", findings=[WIND]) for _ in range(2)]
    assert found(applied, checks) == [("weather", "Wind 12 mph, at most 10 mph.")]


def test_it_tells_a_mix_that_is_too_strong(applied):
    assert found(applied, max_percent_vv=1.9) == [("strength", "Herb: 2.00% of the mix; at most 1.9%.")]


def test_it_tells_too_much_on_the_ground_where_the_area_is_known(applied):
    assert found(applied, max_l_per_ha=0.79) == [("rate", "Herb: 0.80 L/ha; at most 0.79 L/ha.")]
    applied.area_m2 = None
    assert found(applied, max_l_per_ha=0.79) == []


def test_it_tells_a_method_that_the_label_does_not_allow(applied):
    assert found(applied, method="cut-stem") == [
        ("method", "Herb: its label does not allow this method (spot-foliar).")
    ]


def test_it_weighs_nothing_by_volume(applied):
    dry = build.MixBatchFactory(parts=[{"product": build.ProductFactory(code="dry"), "entered_unit": "g"}])
    other = build.ApplicationFactory(batch=dry, prescription=applied.prescription, area_m2=1.0)
    told = {"products": [{"code": "dry", "uses": card(max_percent_vv=0.001)["products"][0]["uses"]}]}
    assert deviations_of(other, [], told) == ()
