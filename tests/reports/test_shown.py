"""What is shown of a report: fewer rows, another order, and the total of just those."""

import pytest

from orders.common.errors import Invalid
from orders.reports.costs import CostReport, CostRow, rows_total
from orders.reports.shown import SORTS, cost_report_document, cost_report_shown

ROWS = (
    CostRow("NORTH", 500, 700, 60, 90),
    CostRow("south", 900, 100, 30, 10),
    CostRow("East", 0, 300, 0, 20),
)
REPORT = CostReport("site", "Site", ROWS, rows_total(ROWS))


def _keys(**asked):
    return [row.key for row in cost_report_shown(REPORT, **asked).rows]


def test_it_holds_rows_by_text_whatever_the_capitals():
    assert _keys(text=" ST ") == ["East"]
    assert _keys(text="o") == ["NORTH", "south"]
    assert _keys(text="west") == []


def test_it_totals_what_is_shown():
    assert cost_report_shown(REPORT, text="o").total == CostRow("Total", 1400, 800, 90, 100)


@pytest.mark.parametrize("column", [name for name in SORTS if name != "key"])
def test_it_sorts_by_each_figure_both_ways(column):
    figures = [getattr(row, SORTS[column]) for row in cost_report_shown(REPORT, sort=column).rows]
    assert figures == sorted(figures)
    assert _keys(sort=f"-{column}") == _keys(sort=column)[::-1]


def test_it_keeps_or_turns_the_order_of_the_report():
    assert _keys() == ["NORTH", "south", "East"]
    assert _keys(sort="-key") == ["East", "south", "NORTH"]


def test_it_refuses_an_unknown_column():
    with pytest.raises(Invalid, match="sorted that way"):
        cost_report_shown(REPORT, sort="weather")


def test_it_writes_exact_figures_into_the_document():
    told = cost_report_document(REPORT)
    assert told["rows"][0] == {
        "key": "NORTH",
        "planned_cents": 500,
        "actual_cents": 700,
        "difference_cents": 200,
        "planned_minutes": 60,
        "actual_minutes": 90,
    }
    assert told["total"]["actual_cents"] == sum(row["actual_cents"] for row in told["rows"])
