import json

import numpy as np
import pytest

from estimating.explain import explain
from estimating.inputs import OBSTRUCTED
from tests.estimating import make
from tests.estimating.test_estimate import LEAF, with_mix


def everything():
    facts = make.patches(2, slope_deg=[25, 0], repeat_year=[1, 2], walk_in_distance_m=[300, 0])
    forms = ["climbing", "ground cover", "shrub"]
    parts = make.components([0, 0, 1], form=forms, infested_area_m2=2000, height_m=[9, 0, 2])
    return make.estimated(facts, parts, make.methods().codes, rate_book=make.book())


def test_it_opens_every_job_into_parts_that_add_up():
    made = everything()
    for job in np.flatnonzero(made.ok).tolist():
        opened = explain(made, job)
        parts = sum(part["hours"] for step in opened["steps"] for part in step["parts"])
        assert parts == pytest.approx(opened["pace"]["standard_person_hours"], rel=1e-12)
        assert opened["field_person_hours"]["likely"] == pytest.approx(parts * opened["pace"]["stretch"])


def test_it_multiplies_out_each_part():
    opened = explain(everything(), 0)
    pull = next(step for step in opened["steps"] if step["step"] == "pull with roots")
    part = next(part for part in pull["parts"] if part["growth_form"] == "climbing")
    factors = [factor["multiplier"] for factor in part["factors"]]
    assert part["cover_term"] == pytest.approx(part["cover"] ** part["cover_exponent"])
    product = part["quantity"] / 10_000 * part["rate"] * part["cover_term"] * np.prod(factors)
    assert (part["unit"], part["hours"]) == ("h/ha", pytest.approx(product))
    assert {factor["factor"] for factor in part["factors"]} == {"slope_deg", "height_m"}


def test_it_is_plain_enough_for_json():
    made = everything()
    for job in range(len(made.jobs)):
        json.dumps(explain(made, job), allow_nan=False)


def test_it_says_none_where_there_is_no_figure():
    made = make.estimated(make.patches(walk_in_minutes=[300]), make.components())
    opened = explain(made, 0)
    assert (opened["ok"], opened["field_person_hours"]["likely"]) == (False, None)
    assert opened["notes"] == ["Drive, walk-in and set-up leave no time to work in a shift."]


def test_it_shows_the_mix_card_and_the_money():
    facts = make.patches(), make.components(infested_area_m2=1000)
    made = make.estimated(*facts, rate_book=make.book(), jobs=with_mix(facts, "dormant-foliar"), mixes=[LEAF])
    opened = explain(made, 0)
    assert opened["materials"]["mix_card"]["full_loads"] == 2
    assert opened["materials"]["mix_card"]["lines"][0]["total_ml"] == pytest.approx(600)
    assert opened["money"]["total_cents"] == made.money.total_cents[0]


def test_it_keeps_a_jobs_place_in_its_outing():
    jobs = make.jobs(ids=["a", "b"], outing=[1, 1], pair_job=[0, 1], pair_component=[0, 1])
    made = make.estimated(make.patches(), make.components([0, 0], infested_area_m2=5000), jobs=jobs)
    searched = [explain(made, job)["steps"][0]["hours"] for job in (0, 1)]
    assert searched == [2, 0]


def test_it_names_the_source_of_the_threshold_that_was_reached():
    factor = {"kind": "factor", "driver": "slope_deg", "value": "1.3"}
    book = make.tiny_book(
        factor | {"from_value": "10", "source": "gentle"}, factor | {"from_value": "20", "source": "steep"}
    )
    made = make.estimated(make.patches(2, slope_deg=[12, 30]), make.components([0, 1]), rate_book=book)
    parts = [explain(made, job)["steps"][1]["parts"][0] for job in (0, 1)]
    assert [part["factors"][0]["source"] for part in parts] == ["gentle", "steep"]


def test_it_says_its_version_and_every_section():
    assert list(explain(everything(), 0)) == [
        *("version", "job", "patch", "method", "ok", "notes", "steps", "pace", "field_person_hours", "range"),
        *("crew_day", "materials", "quantities", "money"),
    ]
    assert explain(everything(), 0)["version"] == 2


def test_it_names_the_kind_of_ground_behind_a_factor():
    made = make.estimated(make.patches(ground=[OBSTRUCTED]), make.components(), ["hand-pull"], rate_book=make.book())
    factors = explain(made, 0)["steps"][0]["parts"][0]["factors"]
    assert [(factor["factor"], factor["measured_word"]) for factor in factors] == [("ground", "obstructed")]


def test_it_gives_three_reasons_at_most():
    assert all(len(explain(everything(), job)["range"]["reasons"]) <= 3 for job in range(4))


def test_it_shows_the_contractors_terms_where_they_are_known():
    prices = make.prices(contract_e4_per_ha={"hand-pull": 50_000_000}, contract_minimum_e4={"hand-pull": 5_000_000})
    facts = make.patches(), make.components(infested_area_m2=2000)
    made = make.estimated(*facts, ["hand-pull", "dig"], rate_book=make.book(), prices=prices)
    shown = [explain(made, job)["money"]["contract"] for job in (0, 1)]
    assert shown == [{"treated_area_m2": 2000, "price_e4_per_ha": 50_000_000, "minimum_e4": 5_000_000}, None]
