"""The measures of the picture: to scale, from one zero, the largest rows."""

import pytest

from orders.desk.bars import BARS_PERCENT, MOST_ROWS, cost_bars
from orders.reports.costs import CostReport, CostRow, rows_total


def _bars(*amounts):
    rows = tuple(CostRow(f"R{number}", planned, actual, 0, 0) for number, (planned, actual) in enumerate(amounts))
    return cost_bars(CostReport("site", "Site", rows, rows_total(rows)), str)


def _share(text):
    return float(text.removesuffix("%"))


def test_it_draws_to_scale():
    bars = _bars((100, 400), (200, 0))
    widths = [_share(bar.width_percent) for pair in bars.pairs for bar in (pair.planned, pair.actual)]
    assert widths == pytest.approx([BARS_PERCENT / 4, BARS_PERCENT, BARS_PERCENT / 2, 0], abs=1e-3)


def test_it_draws_what_was_taken_back_left_of_zero():
    [pair] = _bars((300, -100)).pairs
    assert _share(pair.actual.left_percent) == 0
    assert _share(pair.actual.width_percent) == pytest.approx(BARS_PERCENT / 4, abs=1e-3)
    assert pair.planned.left_percent == _bars((300, -100)).zero_percent


def test_it_draws_rows_without_any_amount():
    [pair] = _bars((0, 0)).pairs
    assert (pair.planned.width_percent, pair.actual.width_percent) == ("0.000%", "0.000%")


def test_it_draws_the_largest_rows_in_the_order_of_the_table():
    bars = _bars(*((number % 7 * 100 + number, 0) for number in range(30)))
    drawn = [int(pair.key[1:]) for pair in bars.pairs]
    smallest = sorted(range(30), key=lambda number: number % 7 * 100 + number)[: 30 - MOST_ROWS]
    assert drawn == sorted(drawn)
    assert set(drawn) == set(range(30)) - set(smallest)
    assert bars.rows_left == 30 - MOST_ROWS


def test_it_shortens_a_long_label_and_keeps_the_key():
    rows = (CostRow("x" * 80, 1, 1, 0, 0),)
    [pair] = cost_bars(CostReport("crew", "Crew", rows, rows_total(rows)), str).pairs
    assert (len(pair.label), len(pair.key)) == (36, 80)
