"""Which values count as held."""

import pytest

from orders.workorders.records.fields import CODES, Known, fields_missing, fields_problems
from tests.workorders.records.uses import CODE, VALUES

KNOWN = Known([CODE], [CODE])


def test_it_finds_nothing_wrong_with_a_whole_record():
    assert fields_problems(VALUES, KNOWN) == {}
    held = [code for code in CODES if code not in {"noncertified_applicator", "label_required"}]
    assert fields_missing(VALUES, held, KNOWN) == []


@pytest.mark.parametrize(
    ("code", "value"),
    [
        ("location", "  "),
        ("area_treated", {"value": "0", "unit": "acre"}),
        ("area_treated", {"value": "0.5", "unit": "feet"}),
        ("area_treated", "half an acre"),
        ("date", "July 2"),
        ("start_time", "2026-07-02T14:40:00"),
        ("end_time", "2026-07-02T14:39:00-04:00"),
        ("registration_number", {CODE: "none"}),
        ("registration_number", {"other": "99901-7"}),
        ("amount", {CODE: {"value": "-1", "unit": "fl oz"}}),
        ("amount", {CODE: {"value": "NaN", "unit": "fl oz"}}),
        ("amount", {CODE: {"value": "1", "unit": "cup"}}),
        ("product", {CODE: ""}),
        ("wind", {"speed_m_s": 27.0, "from_deg": 270}),
        ("wind", {"speed_m_s": 2.0}),
        ("wind", {"speed_m_s": -1, "from_deg": 270}),
        ("wind", {"speed_m_s": 2.0, "from_deg": 361}),
        ("air_temperature", "warm"),
        ("air_temperature", True),
    ],
)
def test_it_takes_what_is_not_as_it_should_be_for_missing(code, value):
    told = {**VALUES, code: value}
    assert fields_missing(told, [code], KNOWN) == [code]


@pytest.mark.parametrize(
    ("code", "value"),
    [
        ("wind", {"speed_m_s": 0}),
        ("wind", {"speed_m_s": 26.8, "from_deg": 0}),
        ("registration_number", {CODE: "524-475-99901"}),
        ("amount", {CODE: {"value": "1.5", "unit": "pt"}}),
        ("air_temperature", -3),
    ],
)
def test_it_takes_what_is_odd_and_right(code, value):
    assert fields_missing({**VALUES, code: value}, [code], KNOWN) == []


def test_it_asks_no_registration_number_of_an_adjuvant():
    told = {**VALUES, "product": {CODE: "Herb", "dye": "Marker"}}
    assert fields_missing(told, ["product", "registration_number"], Known([CODE, "dye"], [CODE])) == []


def test_it_names_missing_fields_in_the_order_of_the_fields():
    assert fields_missing({}, ["wind", "requester", "date"], KNOWN) == ["requester", "date", "wind"]
