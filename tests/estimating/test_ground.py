import numpy as np
import pytest

from estimating.columns import Known
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


def test_it_is_less_sure_of_all_areas_of_a_patch_judged_by_eye():
    found = ground({"area_mapped": [False]})
    assert (found.area_sd[0], found.patch_area_sd[0]) == (0.3, 0.3)


def test_it_survives_a_cover_of_nothing():
    assert np.isfinite(ground(cover=0.0).cover_sd).all()


def test_it_counts_a_class_of_stems_that_was_not_counted_by_density():
    book = make.tiny_book(make.figure("allowance", "stems_small_per_m2", 2, growth_form="shrub"))
    parts = make.components(form="shrub", infested_area_m2=100, stems=[[np.nan, 4, 1]])
    assert Ground(make.patches(), parts, book).stems.tolist() == [[50, 4, 1]]


@pytest.mark.parametrize(("year", "cover"), [(1, 0.25), (2, 0.25), (3, 0.04), (9, 0.04)])
def test_it_goes_by_maintenance_cover_from_the_third_year_on(year, cover):
    assert ground({"repeat_year": [year]}).cover[0] == cover


def climbing(**component):
    book = make.tiny_book(make.figure("allowance", "upper_cut_height_m", 1.5))
    parts = make.components(form="climbing", stems=[[10, 2, 1]], **component)
    return Ground(make.patches(), parts, book)


def test_it_cuts_every_stem_of_a_climbing_vine_a_second_time():
    assert climbing(height_m=[9]).upper_cuts.tolist() == [13]
    assert climbing().upper_cuts.tolist() == [13]


def test_it_does_not_cut_a_vine_twice_that_ends_below_the_upper_cut():
    assert climbing(height_m=[1.2]).upper_cuts.tolist() == [0]
    assert climbing(height_m=[1.2], cut_height_m=[1.0]).upper_cuts.tolist() == [13]


def test_it_cuts_nothing_else_a_second_time():
    found = ground(form="shrub", stems=[[10, 2, 1]])
    assert found.upper_cuts.tolist() == [0]
    assert np.isnan(found.cut_height_m).all()


@pytest.mark.parametrize(("height_m", "effective"), [(np.nan, 1.5), (2.5, 2.5)])
def test_it_takes_the_observed_height_of_the_cut_before_the_usual_one(height_m, effective):
    assert climbing(cut_height_m=[height_m]).cut_height_m.tolist() == [effective]


@pytest.mark.parametrize(("answer", "volume_m3"), [(Known.YES, 5), (Known.UNKNOWN, 5), (Known.NO, 0)])
def test_it_counts_loose_stems_that_root_or_may(answer, volume_m3):
    book = make.tiny_book(make.figure("allowance", "debris_m3_per_m2", 0.02))
    found = Ground(make.patches(), make.components(infested_area_m2=1000, reroots=[answer]), book)
    assert found.quantity("rooting_debris_m3", "pull").tolist() == [volume_m3]


def test_it_takes_the_debris_of_the_method_itself():
    usual = make.figure("allowance", "debris_m3_per_m2", 0.02)
    book = make.tiny_book(usual, usual | {"method": "cut", "value": "0.004"})
    found = Ground(make.patches(), make.components(infested_area_m2=1000), book)
    assert [found.debris_m3(method)[0] for method in ("pull", "cut")] == [5, 1]


@pytest.mark.parametrize(("kind", "measured"), list(enumerate((0, 1, 2, 0))))
def test_it_counts_unknown_ground_as_even(kind, measured):
    assert ground({"ground": [kind]}).measured("ground").tolist() == [measured]
