import json
from typing import Any

import pytest

from estimating.columns import Known
from estimating.suitability import suit
from estimating.suitability_rules import RULES, SuitabilityLimits
from tests.estimating import make

SURVEYED: dict[str, Any] = {
    "wet_ground": [Known.NO],
    "desirable_tree_roots": [Known.NO],
    "evergreen_natives": [Known.NO],
    "spring_ephemerals": [Known.NO],
    "distance_to_water_m": [100],
}
EVERGREEN: dict[str, Any] = {"evergreen": [Known.YES], "resprouts": [Known.YES], "fertile": [Known.NO]}


def judged(form="ground cover", patch=None, limits=None, **component):
    facts = make.patches(**(SURVEYED | (patch or {})))
    return suit(facts, make.components(form=form, **(EVERGREEN | component)), make.methods(), limits)


def verdict(method, **facts):
    found = judged(**facts)
    index = found.methods.codes.index(method)
    return Known(int(found.fits[0, index])), {reason.rule for reason in found.reasons(0, index)}


def recommended(**facts):
    found = judged(**facts)
    return found.methods.codes[found.recommended[0]]


@pytest.mark.parametrize(
    ("facts", "method"),
    [
        ({"infested_area_m2": 300}, "hand-pull"),
        ({"cover": 0.05, "patch": {"target_cover": [0.01]}}, "hand-pull"),
        ({}, "dormant-foliar"),
        ({"evergreen": [Known.NO]}, "mow-mulch"),
        ({"evergreen": [Known.NO], "patch": {"slope_deg": [25]}}, "spot-foliar"),
        ({"form": "climbing"}, "cut-stem"),
        ({"form": "climbing", "resprouts": [Known.NO]}, "cut"),
        ({"form": "climbing", "patch": {"slope_deg": [38]}}, "cut"),
        ({"form": "herb"}, "cut"),
        ({"cover": 0.04}, "monitor"),
        ({"cover": 0.04, "form": "climbing", "fertile": [Known.UNKNOWN]}, "hand-pull"),
    ],
)
def test_it_recommends_by_the_agreed_rules(facts, method):
    assert recommended(**facts) == method


@pytest.mark.parametrize(
    ("method", "facts", "expected", "rule"),
    [
        ("cut-stem", {}, Known.NO, "growth form"),
        ("hand-pull", {"infested_area_m2": 0}, Known.NO, "nothing to treat"),
        ("mow-mulch", {"patch": {"slope_deg": [21]}}, Known.NO, "slope"),
        ("mow-mulch", {"patch": {"wet_ground": [Known.YES]}}, Known.NO, "wet ground"),
        ("mow-mulch", {"patch": {"wet_ground": [Known.UNKNOWN]}}, Known.UNKNOWN, "wet ground"),
        ("mow-mulch", {"infested_area_m2": 100}, Known.NO, "size"),
        ("tarp", {}, Known.NO, "size"),
        ("hand-pull", {}, Known.NO, "small or sparse"),
        ("dig", {"infested_area_m2": 100, "patch": {"desirable_tree_roots": [Known.YES]}}, Known.NO, "tree roots"),
        (
            "dig",
            {"infested_area_m2": 100, "patch": {"desirable_tree_roots": [Known.UNKNOWN]}},
            Known.UNKNOWN,
            "tree roots",
        ),
        ("dormant-foliar", {"patch": {"desirable_tree_roots": [Known.UNKNOWN]}}, Known.YES, "tree roots"),
        ("dormant-foliar", {"evergreen": [Known.NO]}, Known.NO, "evergreen leaves"),
        ("dormant-foliar", {"evergreen": [Known.UNKNOWN]}, Known.UNKNOWN, "evergreen leaves"),
        ("dormant-foliar", {"patch": {"evergreen_natives": [Known.YES]}}, Known.YES, "evergreen natives"),
        ("spot-foliar", {}, Known.YES, "natives in leaf"),
        ("tarp", {"infested_area_m2": 50, "patch": {"spring_ephemerals": [Known.YES]}}, Known.NO, "smothering"),
        (
            "tarp",
            {"infested_area_m2": 50, "patch": {"spring_ephemerals": [Known.UNKNOWN]}},
            Known.UNKNOWN,
            "smothering",
        ),
        ("girdle", {"form": "climbing", "stems": [[50, 0, 0]]}, Known.NO, "thick stems"),
        ("girdle", {"form": "climbing", "stems": [[50, 0, 3]]}, Known.YES, "resprouting"),
        ("cut", {"form": "climbing"}, Known.YES, "resprouting"),
        ("cut", {"form": "climbing"}, Known.YES, "rooting stems"),
        ("hand-pull", {"infested_area_m2": 300, "reroots": [Known.YES]}, Known.YES, "rooting stems"),
        ("spot-foliar", {"stems": [[600, 200, 0]]}, Known.YES, "many plants"),
        ("cut-stem", {"form": "climbing"}, Known.YES, "license"),
        ("cut-stem", {"form": "climbing", "patch": {"distance_to_water_m": [3]}}, Known.YES, "water"),
        ("cut-stem", {"form": "climbing", "patch": {"distance_to_water_m": [float("nan")]}}, Known.YES, "water"),
    ],
)
def test_it_says_which_rule_speaks(method, facts, expected, rule):
    found, rules = verdict(method, **facts)
    assert found is expected
    assert rule in rules


def test_it_says_so_where_nothing_speaks_against_a_method():
    assert verdict("cut", form="climbing", resprouts=[Known.NO], reroots=[Known.NO]) == (Known.YES, {"fits"})


@pytest.mark.parametrize(
    "facts",
    [
        {"stems": [[500, 200, 0]]},  # 700 on 2.47 acres: 283 an acre
        {"stems": [[900, float("nan"), 0]]},  # not all were counted
        {"form": "climbing", "stems": [[900, 0, 0]]},
    ],
)
def test_it_gives_no_advice_on_broadcast_treatment_where_the_figure_does_not_reach(facts):
    """300 plants an acre: Texas & Southwestern Cattle Raisers, on rangeland; advice alone, never a no."""
    method = "cut-stem" if facts.get("form") else "spot-foliar"
    assert "many plants" not in verdict(method, **facts)[1]


def test_it_judges_a_patch_by_the_component_that_a_method_fits_best():
    parts = make.components([0, 0], form=["ground cover", "climbing"], **{k: v * 2 for k, v in EVERGREEN.items()})
    found = suit(make.patches(**SURVEYED), parts, make.methods())
    fits, reasons = found.method_on_patch(0, found.methods.codes.index("cut-stem"))
    assert fits is Known.YES
    assert "license" in {reason.rule for reason in reasons}


def test_it_says_that_a_patch_without_components_has_nothing_to_treat():
    found = suit(make.patches(2, **{k: v * 2 for k, v in SURVEYED.items()}), make.components([0]), make.methods())
    fits, (reason,) = found.method_on_patch(1, 0)
    assert (fits, reason.rule) == (Known.NO, "nothing to treat")


def test_it_recommends_what_waits_for_the_survey_before_giving_up():
    found = judged(patch={"wet_ground": [Known.UNKNOWN]})
    assert found.methods.codes[found.recommended[0]] == "dormant-foliar"
    assert found.why(0).endswith("Survey first: see what is unknown.")


def test_it_watches_where_no_treatment_fits():
    steep = {"slope_deg": [44]}
    found = judged(form="climbing", patch=steep)
    assert (found.methods.codes[found.recommended[0]], found.why(0)) == (
        "monitor",
        "No method of treatment fits: watch it.",
    )


def test_it_lets_what_may_fruit_lead_a_patch():
    parts = make.components(
        [0, 0],
        form=["ground cover", "climbing"],
        infested_area_m2=[9000, 4000],
        **{k: v * 2 for k, v in EVERGREEN.items()},
    )
    fertile = parts.take([0, 1], species=parts.species, fertile=[Known.NO, Known.UNKNOWN])
    facts = make.patches(**SURVEYED)
    assert suit(facts, parts, make.methods()).for_patch(0)["recommended"] == "dormant-foliar"
    assert suit(facts, fertile, make.methods()).for_patch(0)["recommended"] == "cut-stem"


def test_it_opens_a_patch_as_plain_values():
    opened = judged().for_patch(0)
    assert json.loads(json.dumps(opened)) == opened
    assert {entry["method"] for entry in opened["components"][0]["methods"]} == set(make.methods().codes)
    assert all(
        reason["text"] and reason["source"]
        for entry in opened["components"][0]["methods"]
        for reason in entry["reasons"]
    )


def test_it_has_no_recommendation_for_a_patch_without_components():
    opened = suit(make.patches(2, **{k: v * 2 for k, v in SURVEYED.items()}), make.components([0]), make.methods())
    assert opened.for_patch(1)["recommended"] is None


def test_it_goes_by_the_programs_own_limits():
    assert recommended(limits=SuitabilityLimits(pull_canopy_m2=5000)) == "hand-pull"


def test_it_names_each_rule_once_with_its_source():
    assert len({rule.name for rule in RULES}) == len(RULES)
    assert all(rule.source for rule in RULES)
