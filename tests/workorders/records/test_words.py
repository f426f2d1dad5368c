"""A record's values in words, and as they were typed where they are not what their kind says."""

from zoneinfo import ZoneInfo

import pytest

from orders.workorders.records.words import value_words

ZONE = ZoneInfo("America/New_York")
NAMES = {"herb": "Ketterline"}


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        ("text", "a slope", "a slope"),
        ("area", {"value": "0.5", "unit": "acre"}, "0.5 acres"),
        ("day", "2026-07-02", "Jul 2, 2026"),
        ("moment", "2026-07-02T18:40:00+00:00", "Jul 2, 2026, 2:40 p.m. EDT"),
        ("by product", {"herb": "Ketterline"}, "Ketterline"),
        ("by product", {"herb": "2%", "dye": "1%"}, "Ketterline: 2%; dye: 1%"),
        ("amounts", {"herb": {"value": "2.7", "unit": "fl oz"}}, "Ketterline: 2.7 fl oz"),
        ("amounts", {"herb": {"value": "3259", "unit": "mL"}}, "Ketterline: 3,259 mL (110.2 fl oz)"),
        ("amounts", {"herb": {"value": "0.5", "unit": "kg"}}, "Ketterline: 0.5 kg (1.1 lb)"),
        ("wind", {"speed_m_s": 0}, "0 mph"),
        ("wind", {"speed_m_s": 4.4704, "from_deg": 350}, "10 mph from the N (350°)"),
        ("temperature", -5, "23 °F (-5 °C)"),
        ("area", None, ""),
        ("wind", {"speed_m_s": 10**400}, str({"speed_m_s": 10**400})),
        ("temperature", "warm", "warm"),
        ("moment", "noon", "noon"),
        ("amounts", ["2"], "['2']"),
    ],
)
def test_it_puts_values_into_words(kind, value, words):
    assert value_words(kind, value, NAMES, ZONE) == words
