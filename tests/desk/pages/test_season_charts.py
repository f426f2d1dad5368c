"""The season's pictures: told, safe, to scale, with a table that equals what they were given."""

import re
from datetime import date, timedelta
from xml.etree import ElementTree

import pytest

from orders.desk import charts_plan as plans
from orders.desk import charts_season as season
from orders.desk.charts_paper import SEE_TABLE

FIRST, LAST = date(2027, 1, 4), date(2027, 12, 17)
FRUIT = date(2027, 8, 18)
LANES = [
    season.Lane(
        "OXBOW <Bend> & more than fits there",
        windows=[(date(2027, 1, 4), date(2027, 3, 20)), (date(2027, 3, 1), date(2027, 4, 2))],
        stops=[season.Stop(date(2027, 2, day), "planned", 8.0) for day in (1, 2, 10)],
        deadlines=[(FRUIT, "met"), (FRUIT, "owed"), (FRUIT, "late")],
        closures=[(date(2027, 5, 1), date(2027, 5, 9))],
    ),
    season.Lane("TANNER", stops=[season.Stop(date(2027, 2, 1), "done", 2.0)]),
]
LINKS = [season.Link(0, date(2027, 2, 1), 1, date(2027, 2, 1))]
WEEKS = [season.Week(date(2027, 2, 1) + timedelta(weeks=n), hours, 100.0) for n, hours in enumerate((40.0, 130.0, 0.0))]
COSTS = [(date(2027, 2, 1), 80.0, 100.0, 140.0), (date(2027, 2, 8), 160.0, 200.0, 290.0)]
DRAWN = {
    "season": lambda: season.season_chart("T", FIRST, LAST, LANES, LINKS),
    "month": lambda: season.season_chart("T", date(2027, 2, 1), date(2027, 2, 28), LANES, LINKS),
    "load": lambda: season.load_chart("T", [("Hollow crew", WEEKS), ("Idle crew", [])]),
    "cost": lambda: plans.cost_course("T", COSTS, 250.0),
    "search": lambda: plans.search_course("T", [(0, 90.0), (40, 80.0), (400, 79.0)], 71.0),
    "compare": lambda: plans.compare_bars("T", ["As it is", "One more"], [("Cost", "$", [100.0, 50.0])]),
}


@pytest.mark.parametrize("name", DRAWN)
def test_it_is_told_and_safe_in_a_page(name):
    chart = DRAWN[name]()
    root = ElementTree.fromstring(chart)
    assert (root[0].text, str(root[1].text).endswith(SEE_TABLE)) == ("T", True)
    assert re.findall(r"style|https?:|<script|\son\w+=|<metadata|#0[abc]000\d\"(?![^>]*class)", chart) == []


@pytest.mark.parametrize("name", DRAWN)
def test_it_is_drawn_the_same_each_time(name):
    assert DRAWN[name]() == DRAWN[name]()


def test_its_table_equals_the_lanes():
    assert DRAWN["season"]().rows == [
        [
            LANES[0].label,
            "Jan 4, 2027 to Apr 2, 2027",
            "3 planned",
            "24.00 h",
            "Feb 1, 2027 to Feb 10, 2027",
            "Aug 18, 2027 met; Aug 18, 2027 owed; Aug 18, 2027 late",
        ],
        ["TANNER", "", "1 done", "2.00 h", "Feb 1, 2027 to Feb 1, 2027", ""],
    ]


def test_a_month_shows_what_lies_in_it():
    (row, _) = DRAWN["month"]().rows
    assert (row[2], row[5]) == ("3 planned", "")
    march = season.season_chart("T", date(2027, 3, 1), date(2027, 3, 31), LANES)
    assert march.rows[0][2:4] == ["0", "0.00 h"]


def test_bars_lie_on_their_days():
    lane = season.Lane(
        "A", stops=[season.Stop(date(2027, 2, 1), "done", 1.0), season.Stop(date(2027, 2, 15), "done", 1)]
    )
    chart = season.season_chart("T", date(2027, 2, 1), date(2027, 2, 28), [lane])
    (first, other) = _bars(chart, "ch-a-fill")[1:3]  # the key's own bar comes first
    days = season.Days(date(2027, 2, 1), date(2027, 2, 28))
    assert first == pytest.approx((days.px(date(2027, 2, 1)), days.px(date(2027, 2, 2))), abs=0.01)
    assert other == pytest.approx((days.px(date(2027, 2, 15)), days.px(date(2027, 2, 16))), abs=0.01)


def _bars(chart, part):
    """Left and right of each bar of a part of the palette, in pixels."""
    paths = re.findall(rf'<path d="([^"]*z[^"]*)"[^>]*class="{part}[ "]', chart)
    found = [[float(x) for x in re.findall(r"[ML] ([\d.-]+) ", path)] for path in paths]
    return [(min(xs), max(xs)) for xs in found]


def test_bars_of_one_state_that_touch_are_drawn_as_one():
    near = [season.Stop(FIRST + timedelta(days=n), "done", 1.0) for n in range(5)]
    assert len(_bars(season.season_chart("T", FIRST, LAST, [season.Lane("A", stops=near)]), "ch-a-fill")) == 2


def test_a_visit_outside_the_days_is_not_drawn():
    far = season.Lane("A", stops=[season.Stop(date(2028, 2, 1), "done", 1.0)])
    assert len(_bars(season.season_chart("T", FIRST, LAST, [far]), "ch-a-fill")) == 1


def test_the_load_is_told_by_week_and_crew():
    chart = DRAWN["load"]()
    assert chart.headings == ["Week of", "Hollow crew", "Idle crew"]
    assert chart.rows == [
        ["Feb 1, 2027", "40.0 of 100.0 h", ""],
        ["Feb 8, 2027", "130.0 of 100.0 h", ""],
        ["Feb 15, 2027", "0.0 of 100.0 h", ""],
    ]


def test_only_what_is_too_much_is_marked():
    assert len(_bars(DRAWN["load"](), "ch-c-fill")) == 2  # one in the key
    within = [season.Week(week.monday, 90.0, 100.0) for week in WEEKS]
    assert len(_bars(season.load_chart("T", [("Hollow crew", within)]), "ch-c-fill")) == 1


def test_the_cost_is_told_week_by_week():
    assert DRAWN["cost"]().rows == [
        ["Feb 1, 2027", "$80.00", "$100.00", "$140.00"],
        ["Feb 8, 2027", "$160.00", "$200.00", "$290.00"],
    ]


def test_the_search_is_told_step_by_step():
    assert DRAWN["search"]().rows == [["0", "$90.00"], ["40", "$80.00"], ["400", "$79.00"]]


def test_plans_are_drawn_to_scale():
    chart = DRAWN["compare"]()
    assert chart.rows == [["Cost", "$100.00", "$50.00"]]
    (solid,), (hatched,) = _bars(chart, "ch-a-fill"), _bars(chart, "ch-b-stroke")
    assert (solid[1] - solid[0]) / (hatched[1] - hatched[0]) == pytest.approx(2, abs=0.01)


@pytest.mark.parametrize(
    "draw",
    [
        lambda: season.season_chart("T", FIRST, LAST, []),
        lambda: season.load_chart("T", []),
        lambda: plans.cost_course("T", [], 1.0),
        lambda: plans.search_course("T", [], None),
        lambda: plans.compare_bars("T", [], []),
    ],
)
def test_it_draws_nothing_without_rows(draw):
    assert (draw(), draw().rows) == ("", [])


def test_spans_that_touch_are_one():
    days = [date(2027, 1, n) for n in range(1, 10)]
    assert season.merged([(days[4], days[5]), (days[0], days[1]), (days[2], days[2])]) == [
        (days[0], days[2]),
        (days[4], days[5]),
    ]
