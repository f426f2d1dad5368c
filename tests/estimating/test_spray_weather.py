"""Go or no go by the kind of each limit. 10 and 15 mph: the wording of labels; the rest is our own."""

import pytest

from estimating.labels import LimitKind, WeatherLimit
from estimating.spray_weather import SprayLimits, SprayReading, gate, limits_of_card, verdict

WIND = WeatherLimit(measure="wind_m_s", high=6.7, kind=LimitKind.MANDATORY, reference="section 2")
ADVISED = WeatherLimit(measure="wind_m_s", low=0.9, high=4.5, kind=LimitKind.ADVISORY, reference="section 2")
COOL = WeatherLimit(measure="temperature_c", high=29.4, kind=LimitKind.POLICY, reference="policy")
FINE = {"air_temperature_c": 15.0, "wind_m_s": 2.5, "inversion_signs": False, "rain_expected_hours": 24.0}


def product(*weather, rain_free_hours=6.0):
    return SprayLimits(code="g", name="Invented G", weather=weather, rain_free_hours=rain_free_hours)


def found(*weather, **reading):
    return gate([product(*weather)], SprayReading(**{**FINE, **reading}))


def test_it_goes_when_nothing_stands_against_it():
    assert found(WIND, ADVISED, COOL) == ()
    assert verdict(()) == "go"


def test_it_stops_at_a_mandatory_limit():
    findings = found(WIND, ADVISED, wind_m_s=7.0)
    assert verdict(findings) == "no_go"
    assert [finding.overridable for finding in findings] == [False, True]


@pytest.mark.parametrize(
    ("limit", "reading", "code"),
    [
        (ADVISED, {"wind_m_s": 5.0}, "weather-wind"),
        (COOL, {"air_temperature_c": 30.0}, "weather-temperature"),
        (ADVISED, {"gust_m_s": 6.0}, "weather-gust"),
        (ADVISED, {"wind_m_s": None}, "weather-not-measured"),
        (COOL, {"air_temperature_c": None}, "weather-not-measured"),
        (COOL, {"rain_expected_hours": 2.0}, "weather-rain"),
        (COOL, {"inversion_signs": True}, "weather-inversion"),
        (COOL, {"wind_m_s": 1.0}, "weather-calm"),
    ],
)
def test_it_advises_against_what_is_no_mandatory_limit(limit, reading, code):
    findings = found(limit, **reading)
    assert [finding.code for finding in findings] == [code]
    assert verdict(findings) == "advised_against"


def test_it_stops_at_a_gust_above_a_mandatory_limit():
    assert verdict(found(WIND, gust_m_s=8.0)) == "no_go"


def test_it_finds_nothing_in_a_weak_gust():
    assert found(ADVISED, gust_m_s=0.2) == ()


def test_it_allows_the_edges_of_a_limit():
    assert found(WIND, wind_m_s=6.7) == found(ADVISED, wind_m_s=4.5) == found(COOL, rain_expected_hours=6.0) == ()


def test_it_stops_where_a_mandatory_limit_was_not_measured():
    assert verdict(found(WIND, wind_m_s=None)) == "no_go"


def test_it_names_both_the_labels_advice_and_the_calm():
    findings = found(ADVISED, wind_m_s=0.5)
    assert [finding.code for finding in findings] == ["weather-wind", "weather-calm"]


def test_it_does_not_ask_for_signs_in_a_breeze():
    assert found(COOL, inversion_signs=None, wind_m_s=1.4) == ()


def test_it_finds_nothing_where_nothing_is_sprayed():
    assert gate([], SprayReading(inversion_signs=True)) == ()


def test_it_says_what_is_of_the_air_once_for_all_products():
    findings = gate([product(), product()], SprayReading(inversion_signs=True))
    assert [finding.code for finding in findings] == ["weather-inversion"]


def test_it_reads_the_limits_of_a_label_card():
    limit = {"measure": "wind_m_s", "low": None, "high": 6.7, "kind": "label-mandatory", "reference": "section 2"}
    card = {"products": [{"code": "g", "name": "Invented G", "weather": [limit], "rain_free_hours": 6.0}]}
    assert limits_of_card(card) == (product(WIND),)
