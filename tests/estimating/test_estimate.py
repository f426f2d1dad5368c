import math

import numpy as np
import pytest

from estimating.columns import Known
from estimating.errors import EstimatingError, InvalidFact, InvalidRate
from estimating.inputs import pair_all
from estimating.materials import Mix, MixPart
from estimating.notes import Note
from tests.estimating import make

LEAF = Mix(
    code="leaf",
    parts=(MixPart(product="blue label", percent_vv=2), MixPart(product="dye", role="dye", percent_vv=0.3)),
    tank_l=15,
    carrier_l_per_ha=300,
)
STEM = Mix(code="stem", parts=(MixPart(product="blue label", percent_vv=25),), tank_l=1, stem_dose_ml_per_cm=2)


def with_mix(facts, method, mix=0):
    patch, component = facts
    jobs = pair_all(patch, component, [method])
    return make.jobs(
        ids=jobs.ids,
        methods=jobs.methods,
        patch_index=jobs.patch_index,
        method_index=jobs.method_index,
        mix=np.full(len(jobs), mix),
        pair_job=jobs.pair_job,
        pair_component=jobs.pair_component,
    )


def sprayed(mix, method="dormant-foliar", form="ground cover", **component):
    facts = make.patches(), make.components(form=form, **component)
    return make.estimated(*facts, rate_book=make.book(), jobs=with_mix(facts, method), mixes=[mix])


def test_it_takes_spray_volume_from_the_infested_area():
    found = sprayed(LEAF, infested_area_m2=5000).materials
    assert found.spray_volume_l.tolist() == [150]
    assert found.tank_loads.tolist() == [10]
    assert (found.product_l["blue label"][0], found.product_l["dye"][0]) == pytest.approx((3.0, 0.45))


def test_it_sprays_only_what_the_method_treats():
    facts = make.patches(), make.components([0, 0], form=["ground cover", "climbing"], infested_area_m2=5000)
    jobs = with_mix(facts, "dormant-foliar")
    found = make.estimated(*facts, rate_book=make.book(), jobs=jobs, mixes=[LEAF]).materials
    assert (found.treated_area_m2[0], found.spray_volume_l[0]) == (5000, 150)


def test_it_takes_spray_volume_from_the_canopy_where_the_mix_says_so():
    spot = Mix(code="spot", parts=LEAF.parts, tank_l=15, carrier_l_per_ha=300, area_basis="canopy")
    found = sprayed(spot, infested_area_m2=5000, cover=0.4).materials
    assert (found.treated_area_m2[0], found.spray_volume_l[0]) == (2000, 60)


def test_it_takes_stem_volume_from_stems_and_diameters():
    # 100 x 1.25 cm + 10 x 5 cm + 2 x 10 cm = 195 cm, 2 ml a cm = 390 ml, a quarter of it product.
    found = sprayed(STEM, "cut-stem", "climbing", stems=[[100, 10, 2]]).materials
    assert found.spray_volume_l[0] == pytest.approx(0.39)
    assert found.product_l["blue label"][0] == pytest.approx(0.0975)


def test_it_adds_parts_to_a_total_to_the_cent():
    money = sprayed(LEAF).money
    parts = money.labor_cents + money.material_cents + money.mileage_cents + money.equipment_cents
    assert (parts == money.total_cents).all()
    assert money.material_cents[0] == 6 * 2500 + 0.9 * 1200


def test_it_puts_low_likely_and_high_in_order():
    made = sprayed(LEAF)
    assert made.hours.low[0] < made.hours.likely[0] < made.hours.mean[0] < made.hours.high[0]
    assert made.money.low_cents[0] < made.money.total_cents[0] < made.money.mean_cents[0] < made.money.high_cents[0]


def test_it_is_less_sure_where_cover_came_as_a_class():
    covers = {"cover_low": [0.05, 0.15], "cover_likely": [0.15, 0.15], "cover_high": [0.25, 0.15]}
    parts = make.components([0, 1], cover_from_class=[True, False], **covers)
    made = make.estimated(make.patches(2), parts)
    assert made.survey_log_sd[0] > made.survey_log_sd[1] > 0
    assert made.hours.likely[0] == made.hours.likely[1]
    assert made.note_texts(0) == ("Cover came as a class, so the range is wider.",)


def test_it_is_less_sure_of_an_area_judged_by_eye():
    made = make.estimated(make.patches(2, area_mapped=[True, False]), make.components([0, 1]))
    assert made.survey_log_sd[1] > made.survey_log_sd[0]


def test_it_notes_a_method_that_treats_nothing_here():
    made = make.estimated(make.patches(), make.components(form="herb"), ["basal-bark"], rate_book=make.book())
    assert list(made.problems()) == [
        ("patch 0/basal-bark", "This method treats none of the growth forms on the patch.")
    ]
    assert (made.ok[0], made.money.total_cents[0], math.isnan(made.hours.mean[0])) == (False, 0, True)


def test_it_leaves_out_what_a_method_does_not_treat_and_says_so():
    both = make.components([0, 0], form=["climbing", "ground cover"], infested_area_m2=[500, 5000])
    one = make.components([0], form="climbing", infested_area_m2=500)
    made = [make.estimated(make.patches(), parts, ["cut"], rate_book=make.book()) for parts in (both, one)]
    assert made[0].time.field_person_hours[0] == made[1].time.field_person_hours[0]
    assert made[0].notes[0] & Note.PART_NOT_TREATED
    assert made[0].materials.debris_m3[0] == made[1].materials.debris_m3[0]


def test_it_has_no_figures_where_the_way_in_takes_the_day_and_keeps_the_others():
    made = make.estimated(make.patches(2, walk_in_minutes=[240, 10]), make.components([0, 1]))
    assert made.ok.tolist() == [False, True]
    assert made.money.total_cents[0] == 0 < made.money.total_cents[1]
    assert np.isfinite(made.season_hours(np.array([0, 1])).mean)


def test_it_counts_the_usual_volume_but_no_product_without_a_mix():
    made = make.estimated(make.patches(), make.components(), ["dormant-foliar"], rate_book=make.book())
    assert made.materials.spray_volume_l[0] == 280
    assert made.materials.product_l == {}
    assert made.notes[0] & Note.MIX_NOT_CHOSEN


def test_it_refuses_a_mix_that_was_not_given():
    facts = make.patches(), make.components()
    with pytest.raises(InvalidFact, match="names no mix") as caught:
        make.estimated(*facts, rate_book=make.book(), jobs=with_mix(facts, "dormant-foliar", 1), mixes=[LEAF])
    assert (caught.value.field, caught.value.row) == ("mix", 0)


def test_it_refuses_a_method_without_rates():
    with pytest.raises(InvalidRate, match="no rates for method 'burn'"):
        make.estimated(make.patches(), make.components(), ["burn"])


def test_it_treats_different_mixes_of_one_method_apart():
    facts = make.patches(2), make.components([0, 1])
    strong = Mix(code="strong", parts=(MixPart(product="blue label", percent_vv=5),), tank_l=15, carrier_l_per_ha=200)
    jobs = with_mix(facts, "dormant-foliar", [0, 1])
    found = make.estimated(*facts, rate_book=make.book(), jobs=jobs, mixes=[LEAF, strong]).materials
    assert found.spray_volume_l.tolist() == [300, 200]
    assert found.product_l["blue label"].tolist() == pytest.approx([6, 10])


def test_it_keeps_the_shared_error_whole_in_a_season():
    count = 200
    made = make.estimated(make.patches(count), make.components(range(count)), ["hand-pull"], rate_book=make.book())
    fit = made.season_hours(np.arange(count))
    assert fit.mean == pytest.approx(made.hours.mean.sum())
    assert fit.sd / fit.mean == pytest.approx(made.shared_log_sd[0], rel=0.1)


def test_it_estimates_nothing_for_no_jobs():
    made = make.estimated(make.patches(), make.components(), jobs=make.jobs(ids=[]))
    assert (len(made.jobs), made.season_hours(np.array([], int)).mean) == (0, 0)


def test_it_names_its_errors_as_one_kind():
    with pytest.raises(EstimatingError):
        make.estimated(make.patches(), make.components([3]))


def test_it_notes_that_rooting_is_not_known_only_where_it_counts():
    answers = (Known.UNKNOWN, Known.YES, Known.NO)
    made = make.estimated(
        make.patches(3), make.components(range(3), reroots=answers), ["hand-pull", "monitor"], rate_book=make.book()
    )
    noted = [bool(notes & Note.ROOTING_UNKNOWN) for notes in made.notes.tolist()]
    assert noted == [True, False, False, False, False, False]


def test_it_keeps_standard_hours_beside_field_hours():
    made = make.estimated(
        make.patches(), make.components(form="shrub", infested_area_m2=60), ["cut"], rate_book=make.book()
    )
    assert made.blocks[0].hours.sum() == pytest.approx(made.pace.standard_person_hours[0])
    assert made.time.field_person_hours[0] == pytest.approx(made.pace.standard_person_hours[0] * made.pace.stretch[0])


def test_it_counts_fuel_and_blades_by_the_hours_of_the_crew():
    form = {"form": "shrub", "infested_area_m2": 5000}
    made = make.estimated(make.patches(), make.components(**form), ["cut"], rate_book=make.book())
    crew_hours = made.time.field_person_hours[0] / 4
    assert made.materials.fuel_l[0] == pytest.approx(0.3 * crew_hours)
    assert made.materials.blades[0] == pytest.approx(0.05 * crew_hours)


@pytest.mark.parametrize(("basis", "kind"), [("infested", 0.0), ("canopy", 0.1)])
def test_it_lets_a_volume_share_the_errors_of_what_it_goes_by(basis, kind):
    book = make.tiny_book(make.rate("spray", "spray", "spray_volume_l", 1, "min/l"))
    mix = Mix(code="spot", parts=LEAF.parts, tank_l=15, carrier_l_per_ha=300, area_basis=basis)
    facts = make.patches(), make.components()
    made = make.estimated(*facts, rate_book=book, jobs=with_mix(facts, "spray"), mixes=[mix])
    assert made.survey_log_sd[0] == pytest.approx(math.hypot(0.05, kind))


def test_it_lets_loads_share_the_errors_of_their_volume():
    book = make.tiny_book(make.rate("spray", "mix", "tank_loads", 1, "min/load"))
    stem = Mix(code="stem", parts=STEM.parts, tank_l=1, stem_dose_ml_per_cm=2)
    facts = make.patches(), make.components(form="shrub", stems=[[900, 10, 2]])
    made = make.estimated(*facts, rate_book=book, jobs=with_mix(facts, "spray"), mixes=[stem])
    assert made.survey_log_sd[0] == pytest.approx(0.1)
