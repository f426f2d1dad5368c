"""Pictures of a site: each kind of record over the years, and degree days by year, with their numbers as a table."""

from datetime import date
from xml.etree import ElementTree

from orders.desk.charts_site import KindOfDay, calendar_spread, degree_day_course

LEAF_OFF = KindOfDay(
    "Leaf-off", {2024: date(2001, 11, 10), 2025: date(2001, 11, 20)}, mean=date(2001, 11, 15), spread_days=7.07
)
FREEZE = KindOfDay("Ground freezes", {2025: date(2002, 1, 3)}, mean=date(2002, 1, 3), spread_days=None)


def marks(chart):
    return [element.attrib.get("class", "") for element in ElementTree.fromstring(str(chart)).iter()]


def test_it_tells_mean_spread_and_the_ends_of_each_kind():
    chart = calendar_spread("The seasons", [LEAF_OFF, FREEZE])
    assert chart.rows == [
        ["Leaf-off", "Nov 15", "7.1", "2", "Nov 10", "Nov 20"],
        ["Ground freezes", "Jan 3", "one year only", "1", "Jan 3", "Jan 3"],
    ]
    assert "a dot for each year" in str(chart)


def test_it_draws_a_band_only_where_there_is_a_spread():
    with_spread, without = (
        sum("ch-a-wash" in mark for mark in marks(calendar_spread("The seasons", [row]))) for row in (LEAF_OFF, FREEZE)
    )
    assert with_spread == without + 1  # the other one is the key's


def test_it_has_a_table_and_no_picture_where_nothing_is_on_record():
    chart = calendar_spread("The seasons", [])
    assert (str(chart), list(chart.rows)) == ("", [])


def test_it_sets_a_year_beside_those_before():
    until = [date(2026, 1, 31), date(2026, 2, 28)]
    chart = degree_day_course("Degree days", until, {2025: [1.0, 5.0], 2026: [2.0, 9.5]})
    assert list(chart.headings) == ["Course", "Jan 31", "Feb 28"]
    assert chart.rows == [["2026", "2.00", "9.50"], ["2025", "1.00", "5.00"]]
