from datetime import date

import pytest

from estimating.columns import Known
from estimating.errors import InvalidFact, UnknownCode
from estimating.label_guard import blocking, check_applications, check_weather, label_gaps
from estimating.labels import GuardPolicy, LimitKind, WeatherLimit
from tests.estimating.labelled import POLICY, cap, label, use


def found(use_, label_=None, prior=(), policy=POLICY):
    labels = {"blue label": label_ or label()}
    return {finding.code: finding for finding in check_applications([use_], prior, labels, policy)}


def test_it_finds_nothing_against_an_allowed_use():
    assert found(use()) == {}


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"label_reference": " "}, "no-label-reference"),
        ({"registration_number": ""}, "no-label-reference"),
        ({"reviewed_on": None}, "label-not-reviewed"),
        ({"caps": []}, "cap-missing"),
        ({"caps": [cap(period="application")]}, "cap-missing"),
        ({"caps": [cap(method="dormant-foliar")]}, "cap-missing"),
        ({"ingredients": {}, "caps": []}, "ingredients-missing"),
        ({"caps_without_reference": {"glyphosate"}}, "cap-without-reference"),
        ({"states": {"IN"}}, "not-registered"),
        ({"uses": {"cut-stem"}}, "use-not-allowed"),
    ],
)
def test_it_refuses_a_label_that_does_not_cover_the_use(changed, code):
    findings = found(use(), label(**changed))
    assert list(findings) == [code]
    assert (findings[code].overridable, findings[code].rows) == (False, ("order 1",))


def test_it_takes_the_labels_word_that_there_is_no_yearly_cap():
    assert found(use(), label(caps=[], no_annual_cap={"glyphosate"})) == {}


def test_it_refuses_a_product_without_label_data():
    (finding,) = check_applications([use(product="other")], [], {}, POLICY)
    assert (finding.code, finding.overridable) == ("no-label", False)


def test_it_refuses_where_an_earlier_use_cannot_be_counted():
    findings = found(use(), prior=[use(row="record 3", product="forgotten")])
    assert list(findings) == ["earlier-use-uncounted"]
    assert found(use(), prior=[use(row="record 3", product="forgotten", patch="patch 9")]) == {}


def test_it_asks_to_review_an_old_label_again_and_may_be_overridden():
    findings = found(use(), policy=GuardPolicy(today=date(2028, 6, 1)))
    assert findings["review-too-old"].kind is LimitKind.POLICY
    assert findings["review-too-old"].overridable


def test_it_refuses_a_mix_stronger_than_the_label():
    strict = label(max_percent_vv={"dormant-foliar": 3})
    assert found(use(percent_vv=3), strict) == {}
    finding = found(use(percent_vv=3.5), strict)["mix-too-strong"]
    assert (finding.limit, finding.total, finding.unit) == (3, 3.5, "% v/v")


def test_it_refuses_more_product_an_application_than_the_label_gives_for_the_use():
    strict = label(max_l_per_ha={"dormant-foliar": 4.0})
    assert found(use(product_l=4.0), strict) == {}
    finding = found(use(product_l=2.1, treated_area_m2=5_000.0), strict)["rate-too-high"]
    assert (finding.limit, finding.total, finding.unit) == (4.0, pytest.approx(4.2), "L/ha")
    assert found(use(product_l=4.1, method="cut-stem"), strict) == {}


def test_it_refuses_where_an_amount_could_not_be_counted():
    dry = use(row="record 3", product_l=0, uncounted="it was weighed.")
    assert list(found(use(), prior=[dry])) == ["earlier-use-uncounted"]
    assert list(found(use(uncounted="it was weighed."))) == ["use-uncounted"]


def test_it_names_the_gaps_of_a_label_before_anything_is_asked_for():
    bare = label(reviewed_on=None, caps=[], label_reference="")
    codes = [gap.code for gap in label_gaps(bare, POLICY)]
    assert codes == ["no-label-reference", "label-not-reviewed", "cap-missing"]
    assert list(label_gaps(label(), POLICY)) == []


@pytest.mark.parametrize(
    ("roots", "codes"),
    [(Known.NO, []), (Known.YES, ["soil-active-near-trees"]), (Known.UNKNOWN, ["tree-roots-unknown"])],
)
def test_it_keeps_soil_active_products_off_tree_roots(roots, codes):
    findings = found(use(desirable_tree_roots=roots), label(soil_active=True))
    assert list(findings) == codes
    assert found(use(desirable_tree_roots=roots)) == {}
    assert not any(finding.overridable for finding in findings.values())


def test_it_says_unknown_survey_first():
    finding = found(use(), label(soil_active=True)) or found(
        use(desirable_tree_roots=Known.UNKNOWN), label(soil_active=True)
    )
    assert finding["tree-roots-unknown"].message.startswith("unknown: survey first")


@pytest.mark.parametrize(
    ("distance_m", "changed", "codes"),
    [
        (15, {}, []),
        (14.9, {}, ["aquatic-label-needed"]),
        (14.9, {"aquatic": True}, []),
        (20, {"least_water_distance_m": 30}, ["too-near-water"]),
        (5, {"least_water_distance_m": 30}, ["too-near-water", "aquatic-label-needed"]),
        (None, {}, ["water-distance-unknown"]),
        (None, {"aquatic": True}, []),
        (None, {"aquatic": True, "least_water_distance_m": 3}, ["water-distance-unknown"]),
    ],
)
def test_it_keeps_its_distance_from_water(distance_m, changed, codes):
    assert list(found(use(distance_to_water_m=distance_m), label(**changed))) == codes


def test_it_lets_nobody_override_work_in_the_water():
    near, inside = (found(use(distance_to_water_m=metres))["aquatic-label-needed"] for metres in (5, 0))
    assert (near.overridable, inside.overridable) == (True, False)


def test_it_lets_a_named_override_pass_all_but_mandatory_limits():
    findings = tuple(found(use(distance_to_water_m=5, state="IN")).values())
    passed = [(finding.code, "order 1") for finding in findings]
    assert [finding.code for finding in blocking(findings, passed)] == ["not-registered"]
    assert blocking(findings, []) == findings


def test_it_needs_an_override_for_the_proposed_uses_of_a_sum_alone():
    policy = label(caps=[cap(9.0), cap(1.0, kind=LimitKind.POLICY)])
    findings = check_applications(
        [use(product_l=2)], [use(row="record 1", product_l=2)], {"blue label": policy}, POLICY
    )
    assert [finding.rows for finding in findings] == [("order 1", "record 1")]
    assert blocking(findings, [("year-cap", "order 1")]) == ()
    assert blocking(findings, [("year-cap", "record 1")]) == findings


def test_it_checks_wind_and_temperature_at_the_time_of_use():
    wind = WeatherLimit(measure="wind_m_s", low=0.9, high=4.5, reference="invented label, section 6")
    cold = WeatherLimit(measure="temperature_c", low=4.4, kind=LimitKind.MANDATORY, reference="invented label")
    limited = label(weather=[wind, cold])
    assert check_weather(limited, "record 1", {"wind_m_s": 3.0, "temperature_c": 10}) == ()
    gusty, frosty = check_weather(limited, "record 1", {"wind_m_s": 6.0, "temperature_c": 2})
    assert (gusty.code, gusty.overridable, gusty.limit) == ("weather-wind", True, 4.5)
    assert (frosty.code, frosty.overridable) == ("weather-temperature", False)
    assert check_weather(limited, "record 1", {}) == ()


@pytest.mark.parametrize(("changed", "kind"), [({"period": "month"}, UnknownCode), ({"kg_ae_per_ha": 0}, InvalidFact)])
def test_it_refuses_a_cap_that_cannot_be(changed, kind):
    with pytest.raises(kind):
        cap(**changed)


@pytest.mark.parametrize("changed", [{"caps": [cap(ingredient="salt")]}, {"ingredients": {"glyphosate": 0}}])
def test_it_refuses_a_label_that_cannot_be(changed):
    with pytest.raises((UnknownCode, InvalidFact)):
        label(**changed)


@pytest.mark.parametrize("changed", [{"product_l": float("nan")}, {"product_l": -1}, {"treated_area_m2": 0}])
def test_it_refuses_a_use_that_cannot_be(changed):
    with pytest.raises(InvalidFact, match="order 1"):
        use(**changed)
