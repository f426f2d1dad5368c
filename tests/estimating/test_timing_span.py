"""Windows from a first to a last day, over season years."""

from datetime import date

import pytest

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.timing import (
    Closure,
    SeasonCalendar,
    TimingFacts,
    Window,
    open_report,
)
from estimating.window_spans import merged
from tests.estimating import make
from tests.estimating.test_timing import MARGINS, SITE

EVERGREEN = TimingFacts(evergreen=Known.YES, spring_ephemerals=Known.NO)


def spans(method, first, last, closures=(), site=SITE, facts=EVERGREEN):
    found = open_report(make.methods()[method], facts, site, first, last, closures, MARGINS).windows
    return [(window.opens, window.closes) for window in found]


def test_it_finds_the_windows_of_both_winters_of_a_calendar_year():
    assert spans("dormant-foliar", date(2027, 1, 1), date(2027, 12, 31)) == [
        (date(2027, 1, 1), date(2027, 3, 28)),
        (date(2027, 11, 27), date(2027, 12, 31)),
    ]


def test_it_keeps_the_reason_of_an_end_that_is_cut_off():
    spring, fall = open_report(
        make.methods()["dormant-foliar"], EVERGREEN, SITE, date(2027, 1, 1), date(2027, 12, 31), (), MARGINS
    ).windows
    assert spring.opens_because == "already open, since natives are out of leaf, plus 7 days"
    assert spring.closes_because == "natives leaf out, less 7 days"
    assert fall.closes_because == "the season ends; goes on until natives leaf out, less 7 days"


def test_it_has_one_window_over_the_new_year():
    assert spans("dormant-foliar", date(2026, 9, 1), date(2027, 8, 31)) == [(date(2026, 11, 27), date(2027, 3, 28))]


def test_it_makes_one_of_years_that_touch():
    assert spans("cut", date(2026, 9, 1), date(2029, 8, 31)) == [(date(2026, 9, 1), date(2029, 8, 31))]


def test_it_keeps_seasons_apart_that_do_not_touch():
    assert spans("spot-foliar", date(2027, 1, 1), date(2028, 6, 30)) == [
        (date(2027, 4, 16), date(2027, 11, 10)),
        (date(2028, 4, 16), date(2028, 6, 30)),
    ]


def test_it_keeps_the_ground_shut_in_winter_where_only_thaws_are_on_record():
    site = SeasonCalendar(ground_thaws=SITE.ground_thaws)
    assert spans("dig", date(2027, 1, 1), date(2028, 12, 31), site=site) == [
        (date(2027, 3, 10), date(2027, 12, 31)),
        (date(2028, 3, 10), date(2028, 12, 31)),
    ]


def test_it_takes_closures_out_of_the_span():
    deer = Closure(date(2026, 12, 1), date(2026, 12, 10), "deer", "hunting")
    assert spans("dormant-foliar", date(2026, 9, 1), date(2027, 8, 31), [deer]) == [
        (date(2026, 11, 27), date(2026, 11, 30)),
        (date(2026, 12, 11), date(2027, 3, 28)),
    ]


def test_it_says_once_why_nothing_is_open():
    spray = make.methods()["dormant-foliar"]
    bare = open_report(spray, TimingFacts(evergreen=Known.NO), SITE, date(2027, 1, 1), date(2029, 1, 1))
    assert len(bare.notes) == 1
    summer = open_report(spray, EVERGREEN, SITE, date(2027, 6, 1), date(2027, 7, 1))
    assert (summer.windows, summer.notes) == ((), ("No window lies within these days.",))


def test_it_refuses_a_span_that_ends_before_it_begins():
    with pytest.raises(InvalidFact, match="last"):
        spans("cut", date(2027, 1, 2), date(2027, 1, 1))


FOUND = (
    Window(date(2027, 3, 1), date(2027, 3, 10), "a", "b"),
    Window(date(2027, 5, 1), date(2027, 5, 2), "c", "d"),
    Window(date(2027, 6, 1), date(2027, 6, 30), "e", "f"),
)


def test_it_makes_one_of_windows_that_touch_or_lie_within_each_other():
    touching = Window(date(2027, 3, 11), date(2027, 3, 12), "g", "h")
    within = Window(date(2027, 6, 5), date(2027, 6, 6), "i", "j")
    assert merged([*FOUND, within, touching]) == [
        Window(date(2027, 3, 1), date(2027, 3, 12), "a", "h"),
        FOUND[1],
        FOUND[2],
    ]
