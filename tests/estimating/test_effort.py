"""Field hours against sums done by hand: search 2 h/ha, pull 100 h/ha x sqrt(cover), write up half an hour."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.inputs import pair_all
from tests.estimating import make


def field_hours(*facts, **changed):
    return make.estimated(*facts, **changed).time.field_person_hours


def test_it_adds_search_and_work_and_the_visit():
    # 1 ha gross: 2 h search; 1 ha at 25% cover: 100 x 0.5 = 50 h; 0.5 h to write up.
    assert field_hours(make.patches(), make.components()).tolist() == [52.5]


def test_it_searches_once_however_many_components():
    two = make.components([0, 0], infested_area_m2=[5000, 5000])
    assert field_hours(make.patches(), two).tolist() == [52.5]


def test_it_searches_once_for_two_jobs_done_in_one_go():
    facts = make.patches(), make.components([0, 0], infested_area_m2=[5000, 5000])
    split = {"ids": ["a", "b"], "pair_job": [0, 1], "pair_component": [0, 1]}
    apart = field_hours(*facts, jobs=make.jobs(**split))
    together = field_hours(*facts, jobs=make.jobs(**split, outing=[7, 7]))
    assert apart.tolist() == [27.5, 27.5]
    assert together.tolist() == [27.5, 25.5]


def test_it_treats_only_the_components_of_the_job():
    facts = make.patches(), make.components([0, 0], infested_area_m2=[5000, 2500])
    one = make.jobs(pair_job=[0], pair_component=[1])
    assert field_hours(*facts, jobs=one).tolist() == [2 + 12.5 + 0.5]


def test_it_breaks_hours_down_by_step():
    (block,) = make.estimated(make.patches(2), make.components([0, 1])).blocks
    assert block.steps == ("search", "pull", "write up")
    assert block.hours.tolist() == [[2, 50, 0.5], [2, 50, 0.5]]


def test_it_multiplies_factors_of_patch_and_component():
    book = make.tiny_book(
        {"kind": "factor", "driver": "slope_deg", "from_value": "20", "value": "1.5", "source": "invented"},
        {"kind": "factor", "driver": "height_m", "from_value": "5", "value": "2", "step": "pull", "source": "invented"},
    )
    steep = make.patches(slope_deg=[25])
    assert field_hours(steep, make.components(height_m=[6]), rate_book=book).tolist() == [3 + 150 + 0.75]


@pytest.mark.parametrize(("answer", "hours"), [(Known.YES, 105), (Known.NO, 52.5), (Known.UNKNOWN, 52.5)])
def test_it_slows_down_only_on_ground_known_to_be_wet(answer, hours):
    wet = {"kind": "factor", "driver": "wet_ground", "from_value": "1", "value": "2", "source": "invented"}
    found = field_hours(make.patches(wet_ground=[answer]), make.components(), rate_book=make.tiny_book(wet))
    assert found.tolist() == [hours]


def stem_book():
    rates = [
        make.rate("cut", f"cut {name}", f"stems_{name}", value, "min/stem")
        for name, value in (("small", 1), ("medium", 6), ("large", 12))
    ]
    density = make.figure("allowance", "stems_small_per_m2", 2, growth_form="shrub")
    return make.tiny_book(*rates, density)


def test_it_works_stem_by_stem_where_they_were_counted():
    shrub = make.components(form="shrub", stems=[[60, 10, 5]])
    assert field_hours(make.patches(), shrub, methods=["cut"], rate_book=stem_book()).tolist() == [1 + 1 + 1]


def test_it_assumes_a_density_where_stems_were_not_counted():
    made = make.estimated(
        make.patches(), make.components(form="shrub", infested_area_m2=120), ("cut",), rate_book=stem_book()
    )
    # 120 m2 x 25% cover x 2 stems a m2 = 60 stems of a minute.
    assert made.time.field_person_hours.tolist() == [1]
    assert made.note_texts(0) == ("Stems were not counted; the rate book's density stands in for them.",)


def test_it_forgets_counted_stems_from_the_third_year_on():
    counts = [[60, 10, 5]], [[6000, 1000, 500]]
    later = [
        field_hours(
            make.patches(repeat_year=[3]),
            make.components(form="shrub", stems=stems),
            methods=["cut"],
            rate_book=stem_book(),
        )[0]
        for stems in counts
    ]
    assert later[0] == later[1] > 0


@given(st.floats(1, 1e6), st.floats(0.001, 1), st.floats(0.001, 1))
def test_it_never_takes_less_for_more_cover(area_m2, one, other):
    low, high = sorted((one, other))
    patch = make.patches(2, gross_area_m2=[area_m2] * 2)
    hours = field_hours(patch, make.components([0, 1], cover=[low, high], infested_area_m2=area_m2))
    assert hours[0] <= hours[1]


@given(st.lists(st.floats(1, 1e5), min_size=1, max_size=6))
def test_it_does_not_matter_in_which_order_components_come(areas):
    patch = make.patches(gross_area_m2=[1e6])
    found = [
        field_hours(patch, make.components([0] * len(areas), infested_area_m2=order))[0]
        for order in (areas, areas[::-1])
    ]
    assert found[0] == pytest.approx(found[1])


def test_it_gives_each_patch_what_it_gives_it_alone():
    random = np.random.default_rng(5)
    facts = make.patches(30, gross_area_m2=random.uniform(1e4, 9e4, 30), slope_deg=random.uniform(0, 40, 30))
    forms = [["ground cover", "climbing", "shrub"][n % 3] for n in range(30)]
    parts = make.components(range(30), form=forms, cover=random.uniform(0.05, 0.9, 30))
    codes = make.methods().codes
    whole = make.estimated(facts, parts, codes, rate_book=make.book()).time.field_person_hours.reshape(len(codes), 30)
    for patch in range(30):
        alone = facts.take(np.array([patch]))
        part = parts.take(np.array([patch]), patch_index=[0], species=["EUFO"])
        single = make.estimated(alone, part, codes, rate_book=make.book()).time.field_person_hours
        np.testing.assert_allclose(whole[:, patch], single, rtol=1e-12)


def test_it_pairs_all_or_lists_the_same_pairs():
    facts = make.patches(3), make.components([2, 0, 1, 0], infested_area_m2=2000)
    listed = pair_all(*facts, ["pull"])
    shuffled = make.jobs(
        ids=listed.ids,
        patch_index=listed.patch_index,
        method_index=listed.method_index,
        pair_job=listed.pair_job[::-1],
        pair_component=listed.pair_component[::-1],
    )
    np.testing.assert_allclose(field_hours(*facts, jobs=listed), field_hours(*facts, jobs=shuffled))


def test_it_goes_by_centimeters_of_stem():
    book = make.tiny_book(make.rate("girdle", "girdle", "stem_diameter_cm", 2, "min/cm"))
    shrub = make.components(form="shrub", stems=[[8, 2, 4]])
    # 8 x 1.25 + 2 x 5 + 4 x 10 = 60 cm of two minutes.
    assert field_hours(make.patches(), shrub, methods=["girdle"], rate_book=book).tolist() == [2]


def two_cuts():
    factor = {"kind": "factor", "step": "cut above", "driver": "cut_height_m", "source": "invented"}
    return make.tiny_book(
        make.rate("cut", "cut low", "stems_small", 1, "min/stem", growth_form="climbing"),
        make.rate("cut", "cut above", "upper_cuts", 2, "min/stem", growth_form="climbing"),
        factor | {"from_value": "2", "value": "1.5"},
        factor | {"from_value": "3", "value": "3"},
        make.figure("allowance", "upper_cut_height_m", 1.5),
    )


@pytest.mark.parametrize(("height_m", "hours"), [(np.nan, 3), (1.9, 3), (2, 4), (3, 7)])
def test_it_parts_a_climbing_vine_by_two_cuts_slower_the_higher(height_m, hours):
    vine = make.components(form="climbing", stems=[[60, 0, 0]], height_m=[12], cut_height_m=[height_m])
    assert field_hours(make.patches(), vine, methods=["cut"], rate_book=two_cuts()).tolist() == [hours]


def test_it_leaves_the_upper_vine_where_it_is():
    hours = []
    for cover in (0.1, 0.9):
        vine = make.components(form="climbing", stems=[[60, 5, 5]], height_m=[12], cover=cover)
        hours.append(field_hours(make.patches(), vine, methods=["cut"], rate_book=make.book())[0])
    assert hours[0] == hours[1]


@pytest.mark.parametrize("method", ["hand-pull", "cut", "cut-stem"])
def test_it_takes_stems_that_root_off_the_ground_and_no_others(method):
    parts = [make.components(form="sprawling", reroots=[answer]) for answer in (Known.NO, Known.UNKNOWN, Known.YES)]
    no, unknown, yes = (field_hours(make.patches(), part, methods=[method], rate_book=make.book())[0] for part in parts)
    assert no < unknown == yes


def test_it_is_slower_on_rough_and_slower_still_on_obstructed_ground():
    hours = field_hours(
        make.patches(4, ground=[0, 1, 2, 3]), make.components(range(4)), methods=["hand-pull"], rate_book=make.book()
    )
    assert hours[0] == hours[3] < hours[1] < hours[2]


def test_it_searches_what_a_job_says_of_overlapping_ground():
    facts = make.patches(2), make.components([0, 1], infested_area_m2=5000)
    columns = {"ids": ["a", "b"], "patch_index": [0, 1], "outing": [7, 7], "pair_job": [0, 1], "pair_component": [0, 1]}
    jobs = make.jobs(**columns, search_area_m2=[10_000, 2_500])
    # The second patch of the outing lies on three quarters of ground that was searched already.
    assert field_hours(*facts, jobs=jobs).tolist() == [2 + 25 + 0.5, 0.5 + 25 + 0.5]


def test_it_searches_nothing_where_a_job_says_so():
    jobs = make.jobs(search_area_m2=[0], pair_job=[0], pair_component=[0])
    assert field_hours(make.patches(), make.components(), jobs=jobs).tolist() == [50.5]


def test_it_refuses_a_search_beyond_the_patch():
    jobs = make.jobs(search_area_m2=[20_000], pair_job=[0], pair_component=[0])
    with pytest.raises(InvalidFact, match="larger than the patch"):
        field_hours(make.patches(), make.components(), jobs=jobs)
