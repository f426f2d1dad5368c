"""Where each quantity is from, done again from the explanation alone."""

import math

import pytest
from hypothesis import HealthCheck, given, settings

from estimating.explain import explain
from tests.estimating import make
from tests.estimating.test_estimate import LEAF, STEM, with_mix
from tests.estimating.test_pencil import CODES, PRICES, crew_days, facts, near

LIGHT = settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def _again(line, lines):
    if line["sum_of"]:
        return math.fsum(one["value"] for one in lines if one["what"] == line["sum_of"])
    value = math.prod(factor["value"] for factor in line["factors"]) / line["divisor"]
    return math.ceil(value - 1e-9) if line["rounded_up"] else value


def _check(shown):
    lines = shown["quantities"]
    for line in lines:
        assert (line["what"], line["value"]) == (line["what"], near(_again(line, lines)))
    job = {line["what"]: line["value"] for line in lines if not line["component"]}
    found = shown["materials"]
    for what, value in (
        ("mix in all", found["spray_volume_l"]),
        ("tank loads", found["tank_loads"]),
        ("debris in all", found["debris_m3"]),
        ("bags", found["bags"]),
        ("fuel", found["fuel_l"]),
        ("blades", found["blades"]),
        *found["product_l"].items(),
    ):
        assert (what, job.get(what, 0.0)) == (what, near(value))


@LIGHT
@given(facts(), crew_days())
def test_it_leads_to_every_amount_of_material(pair, crew_day):
    patch, parts = pair
    made = make.estimated(patch, parts, CODES, rate_book=make.book(), crew_day=crew_day, prices=PRICES)
    for job in range(len(made.jobs)):
        if made.ok[job]:
            _check(explain(made, job))


@pytest.mark.parametrize(("mix", "method"), [(LEAF, "dormant-foliar"), (LEAF, "spot-foliar"), (STEM, "cut-stem")])
@LIGHT
@given(pair=facts(), crew_day=crew_days())
def test_it_leads_to_every_amount_of_a_mix(mix, method, pair, crew_day):
    more = {"rate_book": make.book(), "mixes": [mix], "crew_day": crew_day, "prices": PRICES}
    patch, parts = pair
    made = make.estimated(patch, parts, jobs=with_mix(pair, method), **more)
    if made.ok[0]:
        _check(explain(made, 0))


def test_it_says_which_density_stands_in_for_a_count():
    parts = make.components(form="climbing", cover=0.5, infested_area_m2=100.0, stems=[[40, math.nan, math.nan]])
    made = make.estimated(make.patches(), parts, ["cut"], rate_book=make.book(), prices=PRICES)
    lines = {line["what"]: line for line in explain(made, 0)["quantities"]}
    assert "small stems, not counted" not in lines
    density = lines["medium stems, not counted"]["factors"][1]
    assert (density["value"], lines["medium stems, not counted"]["value"]) == (0.15, 7.5)
    assert make.book().rows[density["rate_row"] - 1].step == "stems_medium_per_m2"


def test_it_has_no_lines_where_a_job_has_no_figures():
    made = make.estimated(
        make.patches(walk_in_minutes=[600]), make.components(), ["hand-pull"], rate_book=make.book(), prices=PRICES
    )
    assert explain(made, 0)["quantities"] == []
