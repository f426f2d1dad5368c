import numpy as np
import pytest

from estimating.ground import Ground
from tests.estimating import make


def ground(patch=None, **component):
    return Ground(make.patches(**(patch or {})), make.components(**component), make.tiny_book())


def test_it_takes_a_class_as_an_even_spread_over_its_limits():
    # Width 0.2 / sqrt(12) / 0.15 as a share, beside the class's own error of 0.2.
    found = ground(cover_low=[0.05], cover_likely=[0.15], cover_high=[0.25], cover_from_class=[True])
    assert found.cover_sd[0] == pytest.approx(np.sqrt(np.log1p((0.2 / 12**0.5 / 0.15) ** 2) + 0.2**2))


def test_it_takes_an_observers_range_as_its_10_and_90_percent_points():
    found = ground(cover_low=[0.1], cover_likely=[0.2], cover_high=[0.3])
    assert found.cover_sd[0] == pytest.approx(np.sqrt(np.log1p((0.2 / 2.5631 / 0.2) ** 2) + 0.1**2), rel=1e-4)


def test_it_takes_area_and_cover_as_errors_of_their_own():
    found = ground({"area_mapped": [False]})
    assert found.canopy_sd[0] == pytest.approx(np.hypot(found.cover_sd[0], 0.3))


def test_it_survives_a_cover_of_nothing():
    assert np.isfinite(ground(cover=0.0).cover_sd).all()


def test_it_counts_a_class_of_stems_that_was_not_counted_by_density():
    book = make.tiny_book(make.figure("allowance", "stems_small_per_m2", 2, growth_form="shrub"))
    parts = make.components(form="shrub", infested_area_m2=100, stems=[[np.nan, 4, 1]])
    assert Ground(make.patches(), parts, book).stems.tolist() == [[50, 4, 1]]


@pytest.mark.parametrize(("year", "cover"), [(1, 0.25), (2, 0.25), (3, 0.04), (9, 0.04)])
def test_it_goes_by_maintenance_cover_from_the_third_year_on(year, cover):
    assert ground({"repeat_year": [year]}).cover[0] == cover
