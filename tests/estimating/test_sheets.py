"""Each line of a sheet comes out with a pencil: the formula with its figures, worked as it stands, gives the result."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact, UnknownCode
from estimating.sheets import SHEETS, entry_errors, sheet_filled
from estimating.worksheet import shown

FIGURE = st.floats(0.5, 90).map(lambda value: f"{value:.3g}")
SMALL = st.floats(0.01, 9).map(lambda value: f"{value:.3g}")
PLOT = {"plot_length_ft": FIGURE, "plot_width_ft": FIGURE, "spray_seconds": FIGURE, "catch_seconds": FIGURE}
COURSE = {"course_ft": st.integers(20, 900).map(str), "course_seconds": FIGURE, "width_in": FIGURE}
ASKED = {
    "plot": PLOT | {"caught_fl_oz": FIGURE},
    "course": COURSE | {"nozzles": st.integers(1, 20).map(str), "caught_fl_oz": FIGURE, "catch_seconds": FIGURE},
    "percent": {
        "percent_vv": FIGURE,
        "basis": st.sampled_from(["mix", "water"]),
        "tank_gal": FIGURE,
        "surfactant_percent_vv": SMALL,
        "carrier_gpa": FIGURE,
        "area_acres": SMALL,
    },
    "rate": {
        "rate_per_acre": SMALL,
        "rate_unit": st.sampled_from(["fl oz", "pt", "oz", "lb"]),
        "carrier_gpa": FIGURE.filter(lambda text: float(text) > 5),
        "tank_gal": FIGURE,
        "area_acres": SMALL,
    },
    "acid": {
        "strength": FIGURE,
        "strength_unit": st.sampled_from(["lb-ai-gal", "g-ai-l"]),
        "ae_ratio": st.floats(0.1, 1).map(lambda value: f"{value:.3f}"),
        "percent_vv": SMALL,
        "carrier_gpa": FIGURE,
        "earlier_lb_ae_per_acre": SMALL,
    },
}
FILLED = st.sampled_from(sorted(ASKED)).flatmap(
    lambda code: st.tuples(st.just(code), st.fixed_dictionaries(ASKED[code]))
)


def worked(filled):
    """The value of a filled-in formula, as a calculator gives it."""
    plain = filled.replace("×", "*").replace("÷", "/").replace("−", "-").replace(",", "")
    assert re.fullmatch(r"[0-9.e+*/() -]+", plain), filled
    return eval(plain, {"__builtins__": {}})


def printed(result):
    return float(result.split()[0].removesuffix("%").replace(",", ""))


@given(FILLED)
def test_it_comes_out_with_a_pencil(asked):
    code, given = asked
    for line in sheet_filled(code, given).working:
        # four figures are printed, and six are carried; a difference of large figures keeps fewer
        largest = max([1.0, *(float(found) for found in re.findall(r"[0-9.]+", line.filled.replace(",", "")))])
        loss = 1e-5 * largest if "−" in line.filled else 0
        assert worked(line.filled) == pytest.approx(printed(line.result), rel=0.6e-3, abs=loss), line


@given(FILLED)
def test_it_answers_in_both_units_or_in_one(asked):
    for answer in sheet_filled(*asked).answers:
        assert bool(answer.metric_text) == bool(answer.metric_unit)
        assert answer.value >= 0


@pytest.mark.parametrize("code", SHEETS)
def test_it_asks_for_what_is_needed(code):
    needed = {entry.name for entry in SHEETS[code].entries if entry.needed and entry.usual is None}
    assert needed
    assert entry_errors(code, {}) == dict.fromkeys(needed, "is needed")


def test_it_refuses_a_sheet_that_is_not():
    with pytest.raises(UnknownCode, match="plot"):
        sheet_filled("boat", {})


@pytest.mark.parametrize(
    ("code", "given", "field"),
    [
        ("plot", {"caught_fl_oz": "1_000"}, "caught_fl_oz"),
        ("plot", {"caught_fl_oz": "٣"}, "caught_fl_oz"),
        ("plot", {"caught_fl_oz": "inf"}, "caught_fl_oz"),
        ("course", {"course_ft": "200", "nozzles": "1.5"}, "nozzles"),
        ("percent", {"percent_vv": "2", "basis": "tank"}, "basis"),
        ("percent", {"percent_vv": "2", "formulation": "dry"}, "formulation"),
    ],
)
def test_it_names_the_entry_that_cannot_be(code, given, field):
    assert field in entry_errors(code, given)
    with pytest.raises(InvalidFact):
        sheet_filled(code, given)


def test_it_tells_no_last_load_where_there_is_none():
    full = sheet_filled("percent", {"percent_vv": "2", "tank_gal": "4", "carrier_gpa": "40", "area_acres": "0.3"})
    assert full.answer("full_loads").value == 3
    assert "last_load" not in {answer.name for answer in full.answers}
    part = sheet_filled("percent", {"percent_vv": "2", "tank_gal": "4", "carrier_gpa": "40", "area_acres": "0.25"})
    assert part.answer("last_load").value == pytest.approx(2)
    assert part.answer("product_last_load").value == pytest.approx(5.12)


def test_it_stands_at_the_limit_and_refuses_above_it():
    at = {"strength": "4", "percent_vv": "5", "carrier_gpa": "40", "most_lb_ae_per_acre": "8"}
    assert sheet_filled("acid", at).refusal == ""
    above = sheet_filled("acid", at | {"earlier_lb_ae_per_acre": "0.1"})
    assert "8.1 lb ae per acre is more than 8" in above.refusal
    assert above.answer("left_lb_ae_per_acre").value == pytest.approx(7.9)


@pytest.mark.parametrize(
    ("value", "text"),
    [(65.34, "65.34"), (0.15625, "0.1562"), (1089, "1,089"), (12345.6, "12,346"), (0, "0"), (40, "40")],
)
def test_it_shows_four_figures(value, text):
    assert shown(value) == text
