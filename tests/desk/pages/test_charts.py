"""Pictures: safe in a page, told to those who cannot see them, to scale, and with their numbers as a table."""

import re
from xml.etree import ElementTree

import pytest

from orders.desk import charts
from orders.desk.charts_paper import SEE_TABLE, Paper, written

STEPS = [("search", 2.0, "gross area"), ("pull <with> roots", 30.0, ""), ("haul $5 & $6", 8.0, "debris")]
RANGES = [("A", 10.0, 15.0, 25.0), ("B", 1.0, 2.0, 3.0)]
COURSES = [("cut", [60, 20], [60, 25], [60, 35]), ("none", None, [60, 66], None)]
DRAWN = {
    "breakdown": lambda: charts.breakdown_bars("T", STEPS, "h"),
    "paired": lambda: charts.paired_bars("T", [("N", 5.0, -2.0)], "$", ("planned", "actual")),
    "range": lambda: charts.range_bars("T", RANGES, "h"),
    "season": lambda: charts.season_total("T", 41_000, 52_000, 68_000, 54_000, 60_000, "$"),
    "tornado": lambda: charts.tornado("T", 38.0, [("Cover", 28, 52), ("Crew", 33, 44)], "h"),
    "before-after": lambda: charts.before_after("T", [("pull", 1.0, 1.2, 1.1, 1.4)], "×"),
    "lines": lambda: charts.lines("T", ["now", "year 1"], COURSES, "%", 5.0),
}


def _texts(chart):
    return re.findall(r"<text[^>]*>([^<]*)</text>", chart)


def _bars(chart, part):
    """Left and right of each bar of a part of the palette, in pixels."""
    paths = re.findall(rf'<path d="([^"]*)"[^>]*class="{part}[ "]', chart)
    found = [[float(x) for x in re.findall(r"[ML] ([\d.-]+) ", path)] for path in paths]
    return [(min(xs), max(xs)) for xs in found]


@pytest.mark.parametrize("name", DRAWN)
def test_it_is_told_and_safe_in_a_page(name):
    chart = DRAWN[name]()
    root = ElementTree.fromstring(chart)
    title, told = root[0], root[1]
    assert (title.tag, told.tag) == ("title", "desc")
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"] == f"{title.attrib['id']} {told.attrib['id']}"
    assert title.text == "T"
    assert str(told.text).endswith(SEE_TABLE)
    assert re.findall(r"style|https?:|<script|\son\w+=|<metadata|#0[abc]000\d\"(?![^>]*class)", chart) == []


@pytest.mark.parametrize("name", DRAWN)
def test_it_is_drawn_the_same_each_time(name):
    assert DRAWN[name]() == DRAWN[name]()


@pytest.mark.parametrize("name", DRAWN)
def test_it_refers_only_to_its_own_parts(name):
    chart = DRAWN[name]()
    ids = re.findall(r'\bid="([^"]+)"', chart)
    referred = {one or other for one, other in re.findall(r'url\(#([\w-]+)\)|href="#([\w-]+)"', chart)}
    assert len(ids) == len(set(ids))
    assert referred <= set(ids)


def test_it_shares_no_id_with_another_picture():
    one, other = DRAWN["tornado"](), charts.tornado("Other", 38.0, [("Cover", 28, 52)], "h")
    assert set(re.findall(r'\bid="([^"]+)"', one)).isdisjoint(re.findall(r'\bid="([^"]+)"', other))


def test_it_writes_words_as_they_are():
    chart = DRAWN["breakdown"]()
    assert {"pull &lt;with&gt; roots", "haul $5 &amp; $6 (debris)", "30.0 h (75%)"} <= set(_texts(chart))
    assert chart.rows == [
        ["search", "2.00 h", "gross area"],
        ["pull <with> roots", "30.00 h", ""],
        ["haul $5 & $6", "8.00 h", "debris"],
    ]


def test_it_draws_bars_to_scale_from_zero():
    widths = [right - left for left, right in _bars(DRAWN["breakdown"](), "ch-a-fill")]
    assert [width / widths[0] for width in widths] == pytest.approx([1, 15, 4], abs=1e-3)


def test_it_draws_a_band_from_low_to_high_with_the_likely_mark_inside():
    chart = DRAWN["range"]()
    bands, marks = _bars(chart, "ch-a-wash"), _bars(chart, "ch-a-fill")
    assert (bands[0][1] - bands[0][0]) / (bands[1][1] - bands[1][0]) == pytest.approx(7.5, abs=1e-2)
    share = (sum(marks[0]) / 2 - bands[0][0]) / (bands[0][1] - bands[0][0])
    assert share == pytest.approx((15 - 10) / (25 - 10), abs=1e-3)


def test_it_turns_a_bar_around_zero():
    chart = DRAWN["paired"]()
    (left, zero) = _bars(chart, "ch-a-fill")[-1]
    assert left < zero
    assert "−$2" in _texts(chart)


def test_it_gives_each_course_its_own_line_of_the_table():
    assert DRAWN["lines"]().rows == [
        ["cut, low", "60.00%", "20.00%"],
        ["cut, likely", "60.00%", "25.00%"],
        ["cut, high", "60.00%", "35.00%"],
        ["none", "60.00%", "66.00%"],
        ["Target", "5.00%", "5.00%"],
    ]


def test_it_turns_the_table_of_many_steps_and_names_only_as_many_as_fit():
    weeks = [f"Week of March {number}, 2027" for number in range(1, 31)]
    chart = charts.lines("T", weeks, [("planned", None, list(range(30)), None)], "h")
    assert (chart.headings, len(chart.rows), chart.rows[1]) == (["Step", "planned"], 30, [weeks[1], "1.00 h"])
    assert 1 < len([text for text in _texts(chart) if text in weeks]) < 6


def test_it_keeps_the_words_of_a_key_apart():
    first = "Estimated hours of all crews"
    chart = charts.paired_bars("T", [("N", 5.0, 2.0)], "h", (first, "Actual hours"))
    ends_at, begins_at = _bars(chart, "ch-b-stroke")[0][1], _bars(chart, "ch-a-fill")[0][0]
    assert begins_at - ends_at > 8 * len(first)


@pytest.mark.parametrize("draw", [charts.breakdown_bars, charts.range_bars, charts.before_after])
def test_it_draws_nothing_without_rows(draw):
    chart = draw("T", [], "h")
    assert (chart, chart.rows) == ("", [])


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0, "h", "0.00 h"), (12.34, "h", "12.3 h"), (1234.4, "$", "$1,234"), (-0.001, "h", "0.00 h"), (-5, "$", "−$5.00")],
)
def test_it_writes_numbers_as_people_do(value, unit, text):
    assert written(value, unit) == text


def test_it_draws_figures_that_are_all_zero_or_alike():
    assert charts.range_bars("T", [("A", 0, 0, 0)], "h").startswith("<svg")
    assert charts.tornado("T", 3.0, [("A", 3.0, 3.0)], "h").startswith("<svg")


def test_the_same_figures_are_drawn_once_and_others_anew(monkeypatch):
    drawn = []

    def paper(height):
        drawn.append(height)
        return Paper(height)

    monkeypatch.setattr(charts, "Paper", paper)
    shown = [charts.range_bars("Once", [("A", 1.0, 2.0, high)], "h") for high in (3.0, 3.0, 4.0)]
    assert len(drawn) == 2
    assert shown[0] == shown[1] != shown[2]
