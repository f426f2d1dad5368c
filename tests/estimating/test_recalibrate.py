"""A draft rate book from a calibration."""

from dataclasses import replace

import pytest

from estimating.calibrate import Part, calibrate
from estimating.rate_book import rate_book_from_rows
from estimating.recalibrate import SOURCE_CHARACTERS, four_figures, rates_calibrated
from tests.estimating.make import rows
from tests.estimating.seasons import order


@pytest.mark.parametrize(
    ("value", "text"), [(0, "0"), (0.012345, "0.01235"), (1.5, "1.5"), (123.456, "123.5"), (12346, "12350")]
)
def test_it_writes_four_figures_without_an_exponent(value, text):
    assert four_figures(value) == text


@pytest.fixture
def calibration():
    """Hand pulling on ground cover took 1.3 times the estimate."""
    orders = [order(n, 0.262 + 0.1 * (-1) ** n, crew=n % 2) for n in range(12)]
    return calibrate([replace(each, parts=(Part("hand-pull", "ground cover", 1.0),)) for each in orders])


@pytest.fixture
def reference():
    return rows("rate_book.csv")


def test_it_makes_a_book_that_can_be_used(reference, calibration):
    made, changes = rates_calibrated(reference, calibration, "2027")
    rate_book_from_rows(made)
    assert changes
    assert len(made) == len(reference)


def test_it_moves_the_rates_of_the_form_and_those_of_all_forms(reference, calibration):
    made, changes = rates_calibrated(reference, calibration, "2027")
    assert {(row.method, row.growth_form) for row in changes} == {("hand-pull", "ground cover"), ("hand-pull", "")}
    for change in changes:
        assert float(change.new) == pytest.approx(float(change.old) * change.ratio.ratio, rel=1e-3)
        assert made[change.line - 1]["value"] == change.new


def test_it_leaves_every_other_row_as_it_was(reference, calibration):
    made, changes = rates_calibrated(reference, calibration, "2027")
    moved = {change.line for change in changes}
    pairs = enumerate(zip(reference, made, strict=True), start=1)
    assert all(before == after for line, (before, after) in pairs if line not in moved)


def test_it_tells_the_evidence_and_the_count_in_the_source(reference, calibration):
    made, changes = rates_calibrated(reference, calibration, "2027")
    for change in changes:
        source = made[change.line - 1]["source"]
        assert source.startswith("calibrated on 12 closed orders, 2027: ×1.30 (")
        assert len(source) <= SOURCE_CHARACTERS


def test_it_moves_nothing_without_evidence(reference):
    made, changes = rates_calibrated(reference, calibrate([]), "2027")
    assert (made, changes) == ([dict(row) for row in reference], ())
