import numpy as np
import pytest

from estimating.errors import InvalidFact, UnknownCode
from estimating.inputs import CrewDay, pair_all
from tests.estimating import make


def test_it_refuses_a_cover_outside_its_own_range():
    with pytest.raises(InvalidFact, match="above the likely") as caught:
        make.components(cover_low=[0.5])
    assert caught.value.field == "cover_low"
    with pytest.raises(InvalidFact, match="below the likely"):
        make.components(cover_high=[0.1])


def test_it_wants_a_species_for_each_component():
    with pytest.raises(InvalidFact, match="rows"):
        make.components(species=["EUFO", "LOMA"])


def test_it_allows_an_infested_area_a_hundredth_over_the_patch():
    make.components(infested_area_m2=10_100).check_against(make.patches())
    with pytest.raises(InvalidFact, match="larger than the patch"):
        make.components(infested_area_m2=10_101).check_against(make.patches())


def test_it_refuses_a_component_of_no_patch():
    with pytest.raises(InvalidFact, match="names no patch"):
        make.components([1]).check_against(make.patches(1))


def test_it_pairs_each_method_with_each_patch_and_its_components():
    jobs = pair_all(make.patches(2), make.components([0, 1, 1]), ["pull", "cut"])
    assert jobs.ids == ("patch 0/pull", "patch 1/pull", "patch 0/cut", "patch 1/cut")
    assert jobs.pair_job.tolist() == [0, 1, 1, 2, 3, 3]
    assert jobs.pair_component.tolist() == [0, 1, 2, 0, 1, 2]


def test_it_refuses_a_job_that_treats_another_patch():
    jobs = make.jobs(pair_job=[0], pair_component=[1])
    with pytest.raises(InvalidFact, match="another patch"):
        jobs.check_against(make.patches(2), make.components([0, 1]))


@pytest.mark.parametrize(
    ("pairs", "message"),
    [
        ({"pair_job": [0, 0], "pair_component": [0]}, "as many"),
        ({"pair_job": [1], "pair_component": [0]}, "names no job"),
    ],
)
def test_it_refuses_pairs_that_do_not_match(pairs, message):
    with pytest.raises(InvalidFact, match=message):
        make.jobs(**pairs)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"people": {}}, "people"),
        ({"people": {"crew lead": -1, "crew member": 3}}, "people"),
        ({"shift_hours": 0}, "shift_hours"),
        ({"break_minutes": -1}, "briefing_minutes"),
        ({"allowance": 1.0}, "allowance"),
        ({"work_minutes_per_hour": 0}, "work_minutes_per_hour"),
        ({"pace": {"crew member": 0}}, "pace"),
        ({"pace": {"crew member": 4}}, "pace"),
        ({"new_workers": 3, "returning_workers": 2}, "new_workers"),
        ({"returning_workers": -1}, "new_workers"),
        ({"day_in_heat": 0}, "day_in_heat"),
        ({"air_temperature_f": float("nan")}, "air_temperature_f"),
        ({"workload": "idle"}, "workload"),
    ],
)
def test_it_refuses_a_crew_day_that_cannot_be(changed, field):
    with pytest.raises((InvalidFact, UnknownCode)) as caught:
        CrewDay(**({"people": make.PEOPLE} | changed))
    assert caught.value.field == field


def test_it_wants_to_know_the_basis_of_the_allowance():
    with pytest.raises(UnknownCode, match="'job' or 'shift'"):
        CrewDay(people=make.PEOPLE, allowance_basis="day")


@pytest.mark.parametrize("amount", [-1, 1.5, True])
@pytest.mark.parametrize("name", ["bag_e4", "mileage_e4_per_mile", "fuel_e4_per_l", "blade_e4"])
def test_it_refuses_a_price_that_is_no_whole_number(name, amount):
    with pytest.raises(InvalidFact, match="1/10,000"):
        make.prices(**{name: amount})


@pytest.mark.parametrize("name", ["product_e4_per_l", "equipment_e4_per_hour", "contract_e4_per_ha"])
def test_it_refuses_a_listed_price_that_is_no_whole_number(name):
    with pytest.raises(InvalidFact, match=r"odd: .*1/10,000"):
        make.prices(**{name: {"odd": 1.5}})


def test_it_wants_a_rate_for_each_role_that_has_a_skill():
    with pytest.raises(UnknownCode, match="pilot"):
        make.prices(skill_role={"crew": "pilot"})
    with pytest.raises(UnknownCode, match="sawyer"):
        make.prices(skill_role={"crew": "crew member"}).skill_rate_e4("sawyer")


def test_it_never_takes_a_product_without_a_price_for_free():
    with pytest.raises(UnknownCode, match="no price"):
        make.prices().product_price_e4("unheard of")


def test_it_leaves_stems_unknown_unless_counted():
    assert np.isnan(make.components().stems).all()
