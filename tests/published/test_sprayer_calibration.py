"""Worked examples of sprayer calibration, and two that are printed wrong. W.. and N.. are rows of the facts."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from estimating import sprayer, sprayer_metric
from estimating.errors import InvalidFact

UF_IFAS = "https://blogs.ifas.ufl.edu/alachuaco/2022/02/04/calibrating-a-backpack-sprayer-the-1-128th-rule/"
NC_STATE = "https://christmastrees.ces.ncsu.edu/backpack-sprayer-calibration-worksheet/"
SLIDES = "http://slidegur.com/doc/5284/"
SHEET = "https://paperzz.com/doc/9164538/"
LAWN = "https://lists.ibiblio.org/sympa/nomenu/arc/nafex/2009-03/msg00314.html"
CRAN = "q = Q V W / 60,000, standard metric formula (a CRAN manual); answer derived"
ROADSIDE = "DOT roadside vegetation guide p. 76, https://daveytree.uberflip.com/i/795219-odot-guide-for-rivm/75"
MISSOURI = "https://extension.missouri.edu/publications/g1270a prints the formula"
UTAH = "https://issuu.com/usuextension/docs/easy_calibration_for_backpack_and_canister_handhe"
MESA = "https://www.mesacounty.us/pest/controlling-weeds/sprayer-calibration-methods/"
UNL = "https://pested.unl.edu/math"


@dataclass(frozen=True)
class Example:
    row: str
    answer: Callable[[], float]
    printed: float
    tolerance: float  # a share of the printed answer
    source: str


SQUARE = 18.5 * 18.5
EXAMPLES = (
    Example("W1", lambda: sprayer.gpa_128(25), 25, 0, UF_IFAS),
    Example("W2", lambda: sprayer.gpa_128(40, SQUARE), 40, 0.01, SLIDES),
    Example("W3", lambda: sprayer.course_length_ft(6), 57, 1 / 57, NC_STATE),
    Example("W4", lambda: sprayer.spacings_on_course(57, 5), 11.4, 0, NC_STATE),
    Example("W8", lambda: sprayer.gpa_from_gallons(1.5, 1000), 65, 0.01, LAWN),
    Example("W15", lambda: sprayer.gpa_128(100, SQUARE), 100, 0.01, SHEET),
    Example("W25", lambda: sprayer_metric.nozzle_l_per_minute(190, 10, 50), 1.5833, 0.001, CRAN),
    Example("W26", lambda: sprayer.hours_per_acre(8, 2), 0.5146, 0.005, ROADSIDE),
    Example("boom", lambda: sprayer.gpa(3.75, 5, 222), 20, 0.01, MISSOURI),
    Example("plot", lambda: sprayer.PLOT_128_SQUARE_FEET, 340.3, 0.0005, UTAH),
    Example("factor-in", lambda: sprayer.GPM_IN_TO_GPA, 5940, 0, MISSOURI),
    Example("factor-ft", lambda: sprayer.GPM_FT_TO_GPA, 495, 0, MESA),
    Example("factor-oz", lambda: sprayer.OUNCES_IN_TO_GPA, 46.4, 0.001, "Albany County, Wyoming"),
    Example("88-feet", lambda: sprayer.FEET_PER_MINUTE_PER_MPH, 88, 0, UNL),
)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.row)
def test_it_gives_the_printed_answer(example):
    assert example.answer() == pytest.approx(example.printed, rel=example.tolerance, abs=1e-12), example.source


def test_it_catches_for_as_long_as_the_plot_took():
    # W1 and W2 as they are done: 25 oz caught in the 30 s of the plot, 40 oz in its 51 s.
    assert sprayer.catch_in_course_time(25, 30, 30) == 25
    assert sprayer.gpa_128(sprayer.catch_in_course_time(80, 102, 51), SQUARE) == pytest.approx(40, rel=0.01)


@pytest.mark.parametrize(("gallons_per_minute", "right"), [(0.15, 3.71), (20 / 128, 3.87)], ids=["N1-0.15", "N1-oz"])
def test_it_does_not_repeat_the_327_gallons_of_an_exam_book(gallons_per_minute, right):
    # N1: Florida exam book p. 213, Method I, forgot the 88 feet a minute in each mile an hour.
    assert sprayer.gpa(gallons_per_minute, 5, 48) == pytest.approx(right, abs=0.005)
    assert sprayer.gpa_from_ounces(20, 5, 48) == pytest.approx(3.87, abs=0.005)


def test_it_does_not_take_a_plot_of_8_5_by_18_5_feet_for_the_128th():
    # N2: UF/IFAS Alachua prints 8.5 x 18.5 ft, 157 square feet; it should be 18.5 x 18.5.
    assert sprayer.gpa_128(25, 8.5 * 18.5) > 2 * 25


@pytest.mark.parametrize("call", [lambda: sprayer.gpa(1, 0, 20), lambda: sprayer.gpa_128(25, 0)])
def test_it_refuses_to_divide_by_nothing(call):
    with pytest.raises(InvalidFact, match="above 0"):
        call()
