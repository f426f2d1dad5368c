"""Yearly caps: imazapyr 1.5 lb ae (96 fl oz of a 2 lb/gal product) an acre and year.

Source: UF/IFAS imazapyr considerations,
https://plants.ifas.ufl.edu/management-plans/chemical-control-considerations/imazapyr-considerations/
"""

from datetime import date

import pytest

from estimating.errors import InvalidFact
from estimating.label_guard import check_applications
from estimating.labels import Cap
from estimating.units import KG_PER_HA_PER_LB_PER_ACRE, SQUARE_METRES_PER_ACRE, litres_from_fluid_ounces
from tests.estimating.labelled import POLICY, label, use

TWO_POUNDS_A_GALLON_G_PER_L = 2 * 453.59237 / 3.785411784
CAP = Cap(
    ingredient="imazapyr",
    kg_ae_per_ha=1.5 * KG_PER_HA_PER_LB_PER_ACRE,
    period="year",
    reference="invented label, section 5",
)
LABEL = label(ingredients={"imazapyr": TWO_POUNDS_A_GALLON_G_PER_L}, caps=[CAP], soil_active=False)


def on_an_acre(fl_oz, **more):
    litres = litres_from_fluid_ounces(fl_oz)
    return use(product_l=litres, treated_area_m2=SQUARE_METRES_PER_ACRE, gross_area_m2=SQUARE_METRES_PER_ACRE, **more)


def test_it_allows_96_ounces_an_acre_and_refuses_more():
    assert check_applications([on_an_acre(96)], [], {"blue label": LABEL}, POLICY) == ()
    (found,) = check_applications([on_an_acre(97)], [], {"blue label": LABEL}, POLICY)
    assert (found.code, found.overridable) == ("year-cap", False)
    assert found.total == pytest.approx(97 / 64 * KG_PER_HA_PER_LB_PER_ACRE)


def test_it_counts_what_was_applied_earlier_in_the_year():
    earlier = on_an_acre(50, row="record 7", on=date(2027, 2, 1))
    (found,) = check_applications([on_an_acre(47)], [earlier], {"blue label": LABEL}, POLICY)
    assert found.rows == ("record 7", "order 1")
    assert check_applications([on_an_acre(46)], [earlier], {"blue label": LABEL}, POLICY) == ()


def test_it_refuses_a_cap_without_a_label_reference():
    with pytest.raises(InvalidFact, match="without a label reference"):
        Cap(ingredient="imazapyr", kg_ae_per_ha=1.7, period="year", reference=" ")
