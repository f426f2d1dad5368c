"""Total, infested and canopy area: USDA Forest Service, Southwestern Region, TP-R3-16-26."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.areas import (
    MINIMUM_MAPPED_M2,
    canopy_area_m2,
    check_area_chain,
    check_percent_infested,
    infested_area_m2,
)
from estimating.errors import InvalidFact
from estimating.units import acres, area_m2_from_acres


def test_it_takes_12_5_acres_at_20_percent_and_40_percent_cover_to_1_acre():
    infested = infested_area_m2(area_m2_from_acres(12.5), 20)
    assert acres(infested) == pytest.approx(2.5)
    assert acres(canopy_area_m2(infested, 0.40)) == pytest.approx(1.0)


def test_it_counts_a_patch_as_wholly_infested_unless_told():
    assert infested_area_m2(500.0) == 500.0


def test_it_refuses_a_share_of_an_outline_of_a_tenth_of_an_acre():
    with pytest.raises(InvalidFact, match="always 100"):
        check_percent_infested(area_m2_from_acres(0.08), 60, eradicated=False)
    assert check_percent_infested(MINIMUM_MAPPED_M2 * 1.01, 60, eradicated=False) == 60


def test_it_allows_0_percent_only_after_a_visit_that_found_nothing():
    with pytest.raises(InvalidFact, match="found gone"):
        check_percent_infested(9000, 0, eradicated=False)
    assert check_percent_infested(9000, 0, eradicated=True) == 0


@pytest.mark.parametrize("areas", [(100, 120, 10), (100, 50, 60), (100, 50, -1)])
def test_it_refuses_areas_that_do_not_nest(areas):
    with pytest.raises(InvalidFact):
        check_area_chain(*areas)


@given(st.floats(1, 1e7), st.floats(0, 100), st.floats(0, 1))
def test_it_always_nests_what_it_computes(total, percent, cover):
    infested = infested_area_m2(total, percent)
    check_area_chain(total * (1 + 1e-12), infested, canopy_area_m2(infested, cover))
