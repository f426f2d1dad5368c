"""The program, the reference written by hand and the loop over rows give the same figures. Nothing is timed here."""

import dataclasses

import numpy as np
import pytest

from estimating.rate_book import rate_book_from_rows
from estimating.rate_rows import COMPONENT_FACTORS, PATCH_FACTORS
from tests.benchmarks import made
from tests.benchmarks.compared import RELATIVE, apart_by, differences, ours
from tests.benchmarks.estimate import loop_difference
from tests.benchmarks.reference import reference
from tests.benchmarks.row_loop import loop, rows_of
from tests.benchmarks.season_range import bare_draws, season
from tests.estimating import make

PATCHES = 200


@pytest.fixture(scope="module")
def case():
    return made.case(PATCHES)


@pytest.fixture(scope="module")
def by_hand(case):
    return reference(case)


def test_it_agrees_with_the_reference_in_every_figure(case, by_hand):
    apart = differences(case.estimate(), by_hand)
    assert {name: by for name, by in apart.items() if by > RELATIVE} == {}


def test_it_agrees_with_the_loop_over_rows(case):
    figures = loop(case, rows_of(case, PATCHES))
    assert loop_difference(figures, ours(case.estimate()), PATCHES) <= RELATIVE


def test_it_would_see_a_rate_that_differs(case, by_hand):
    rows = [dict(row) for row in make.rows("rate_book.csv")]
    search = next(row for row in rows if row["step"] == "search" and row["method"] == made.METHODS[0])
    search["value"] = str(float(search["value"]) * (1 + 1e-6))
    other = dataclasses.replace(case, book=rate_book_from_rows(rows))
    result, (figures, blocks) = other.estimate(), by_hand
    assert apart_by(ours(result)["hours"], figures["hours"]) > RELATIVE
    assert apart_by(result.blocks[0].hours.T, blocks[0]) > RELATIVE
    assert apart_by(result.blocks[1].hours.T, blocks[1]) <= RELATIVE


def test_it_tries_every_driver_and_factor_of_the_reference_book(case):
    tried = [step for method in made.METHODS for step in case.book.method_steps(method)]
    every = [step for method in case.book.steps for step in case.book.method_steps(method)]
    assert {step.driver for step in tried} == {step.driver for step in every}
    assert {band.driver for step in tried for band in step.factors} == set(PATCH_FACTORS + COMPONENT_FACTORS)
    result = case.estimate()
    assert 0.5 < result.ok.mean() < 1.0
    assert all((amount > 0).any() for amount in result.materials.product_l.values())
    assert (result.materials.bags > 0).any()


def test_it_makes_the_same_case_every_time(case):
    again = made.case(PATCHES)
    assert np.array_equal(again.components.cover_likely, case.components.cover_likely)
    assert np.array_equal(again.patches.gross_area_m2, case.patches.gross_area_m2)


def test_it_draws_bare_totals_of_the_same_mean():
    likely, own, shared, group = season(40)
    mean = float((likely * np.exp((own**2 + shared**2) / 2)).sum())  # the sum of the orders' lognormal means
    assert bare_draws(likely, own, shared, group, draws=20_000).mean() == pytest.approx(mean, rel=0.02)
