"""How money, hours and amounts are written."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from orders.desk.templatetags import desk, units
from orders.reports.cells import hours_text


@pytest.mark.parametrize(
    ("cents", "text"),
    [(0, "$0.00"), (5, "$0.05"), (123_456_789, "$1,234,567.89"), (-1_234, "−$12.34"), (-5, "−$0.05")],
)
def test_it_writes_money_to_the_cent(cents, text):
    assert desk.money(cents) == text


@pytest.mark.parametrize("minutes", [0, 1, 7, 59, 61, 12_345])
def test_it_writes_hours_as_the_download_does(minutes):
    assert desk.hours(minutes).replace(",", "") == hours_text(minutes)


@pytest.mark.parametrize(
    ("quantity", "unit", "text"),
    [
        (240, "min", "4.00 h"),
        (370, "mi/10", "37.00 mi"),
        (-1_500_000, "uL", "−50.7 fl oz (−1.50 L)"),
        (37_854_118, "uL", "10.00 gal (37.85 L)"),
        (2_000, "uL", "0.07 fl oz (2.0 mL)"),
        (250_000, "mg", "8.8 oz (250 g)"),
        (-2_000_000, "mg", "−4.41 lb (−2.00 kg)"),
    ],
)
def test_it_writes_amounts_in_units_that_people_read(quantity, unit, text):
    assert desk.amount(quantity, unit) == text


@pytest.mark.parametrize(("rate_e4", "text"), [(300_000, "$30.00/h"), (268_755, "$26.8755/h"), (7_250, "$0.7250/h")])
def test_it_writes_rates_with_two_decimals_or_four(rate_e4, text):
    assert desk.rate(rate_e4, "min") == text


@pytest.mark.parametrize(
    ("rate_e4", "unit", "text"),
    [(96_000, "uL", "$36.34/gal ($9.60/L)"), (100_000, "mg", "$4.54/lb ($10.00/kg)")],
)
def test_it_writes_the_price_of_product_by_the_units_that_it_is_bought_in(rate_e4, unit, text):
    assert desk.rate(rate_e4, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        ("112.0000", "mL", "112 mL (3.8 fl oz)"),
        ("3259", "mL", "3,259 mL (0.86 gal)"),
        ("7.5", "L", "7.5 L (1.98 gal)"),
        ("4.0", "fl oz", "4 fl oz"),
        ("250", "g", "250 g (8.8 oz)"),
    ],
)
def test_it_keeps_what_was_typed_and_says_it_in_us_units(value, unit, text):
    assert units.as_entered(Decimal(value), unit) == text


def test_it_writes_times_on_the_clock_of_the_program(settings):
    settings.PROGRAM_TIME_ZONE = "America/New_York"
    assert desk.program_time(datetime(2027, 3, 1, 15, 0, tzinfo=UTC)) == "Mar 1, 2027, 10 a.m. EST"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Add surfactant (surfactant): 1 mL", "Add Spreader One (surfactant): 1 mL"),
        ("Surfactant", "Spreader One"),
        ("EUFO, climbing", "wintercreeper, climbing"),
        ("non-surfactant-2", "non-surfactant-2"),
    ],
)
def test_it_says_a_code_by_its_name(text, told):
    assert desk.said(text, {"surfactant": "Spreader One", "EUFO": "wintercreeper"}) == told
    assert desk.said(text, {}) == text


@pytest.mark.parametrize(
    ("unit", "told"),
    [("min/l", "min/L"), ("ml per cm", "mL per cm"), ("m3 loose per m2", "m³ loose per m²"), ("h", "h")],
)
def test_it_writes_units_as_people_do(unit, told):
    assert units.unit_words(unit) == told


@pytest.mark.parametrize(("liters", "told"), [(0.0005, "0.02 fl oz"), (0, "0.0 fl oz"), (0.1, "3.4 fl oz")])
def test_it_does_not_round_a_dose_to_nothing(liters, told):
    assert units.volume(liters) == told


def test_it_writes_the_days_of_a_sentence_as_people_do():
    told = "Not before 2027-06-19, 120 days after its first possible day, 2027-02-19."
    assert desk.days_said(told) == "Not before Jun 19, 2027, 120 days after its first possible day, Feb 19, 2027."
    assert desk.days_said("by 2027-02-31") == "by 2027-02-31"
