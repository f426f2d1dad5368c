"""The picture beside the cost table: the largest rows, in the order of the table."""

from orders.desk.bars import MOST_ROWS, cost_bars
from orders.reports.costs import CostReport, CostRow, rows_total


def _bars(*amounts):
    rows = tuple(CostRow(f"R{number}", planned, actual, 0, 0) for number, (planned, actual) in enumerate(amounts))
    return cost_bars(CostReport("site", "Site", rows, rows_total(rows)))


def test_it_draws_planned_and_actual_of_each_row():
    picture, rows_left = _bars((12_345, 40_000), (20_000, -10_000))
    assert picture.rows == [["R0", "$123.45", "$400.00"], ["R1", "$200.00", "−$100.00"]]
    assert rows_left == 0


def test_it_draws_the_largest_rows_in_the_order_of_the_table():
    picture, rows_left = _bars(*((number % 7 * 100 + number, 0) for number in range(30)))
    drawn = [int(row[0][1:]) for row in picture.rows]
    smallest = sorted(range(30), key=lambda number: number % 7 * 100 + number)[: 30 - MOST_ROWS]
    assert drawn == sorted(drawn)
    assert set(drawn) == set(range(30)) - set(smallest)
    assert rows_left == 30 - MOST_ROWS


def test_it_draws_nothing_where_there_is_no_row():
    assert _bars() == ("", 0)
