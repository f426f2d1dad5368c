"""What holds of windows whatever the calendar, the closures and the labels say."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from estimating.columns import Known
from estimating.timing import (
    CalendarDay,
    Closure,
    LabelInterval,
    SeasonCalendar,
    TimingFacts,
    open_report,
    window_report,
)
from tests.estimating import make

FIRST, LAST = date(2026, 3, 1), date(2028, 10, 31)
dates = st.dates(date(2025, 6, 1), date(2029, 6, 1))


def record(first_month, last_month):
    return st.none() | st.builds(
        CalendarDay,
        month=st.integers(first_month, last_month),
        day=st.integers(1, 28),
        spread_days=st.floats(0, 20),
        years=st.none() | st.integers(1, 9),
    )


sites = st.builds(
    SeasonCalendar,
    leaf_out=record(3, 5),
    leaf_off=record(10, 12),
    ephemerals_emerge=record(2, 4),
    hard_freeze=record(10, 12),
    ground_freezes=record(11, 12),
    ground_thaws=record(1, 4),
)
facts_of_patches = st.builds(
    TimingFacts,
    spring_ephemerals=st.sampled_from(Known),
    evergreen=st.sampled_from(Known),
    holds_leaves_until=record(11, 12),
)
method_rows = st.sampled_from(make.methods().methods)
closures = st.builds(
    lambda first, length, methods: Closure(first, first + timedelta(days=length), "invented", methods=methods),
    dates,
    st.integers(0, 120),
    st.none() | st.sets(st.sampled_from(make.methods().codes)).map(frozenset),
)
labels = st.builds(
    LabelInterval,
    product=st.just("blue label"),
    last_used_on=dates,
    least_days=st.integers(0, 200),
    most_uses_a_year=st.none() | st.integers(1, 3),
    used_on=st.lists(dates, max_size=4).map(tuple),
)


def open_days(windows):
    return {
        window.opens + timedelta(days=number)
        for window in windows
        for number in range((window.closes - window.opens).days + 1)
    }


@given(method_rows, facts_of_patches, sites, st.lists(closures, max_size=4), st.lists(labels, max_size=2))
def test_closures_and_labels_take_out_their_days_and_nothing_else(method, facts, site, shut, forbidden):
    whole = open_days(open_report(method, facts, site, FIRST, LAST).windows)
    left = open_days(open_report(method, facts, site, FIRST, LAST, shut, labels=forbidden).windows)
    closed = {
        day
        for day in whole
        if any(closure.first <= day <= closure.last for closure in shut if closure.keeps_out(method.code))
    }
    not_allowed = {
        day for day in whole if any(day < label.opens or day.year in label.years_used_up() for label in forbidden)
    }
    assert left == whole - closed - not_allowed


@given(method_rows, facts_of_patches, sites, st.lists(closures, max_size=4), st.lists(labels, max_size=2))
def test_windows_are_in_order_apart_and_within_the_span_with_reasons(method, facts, site, shut, forbidden):
    found = open_report(method, facts, site, FIRST, LAST, shut, labels=forbidden).windows
    for window in found:
        assert FIRST <= window.opens <= window.closes <= LAST
        assert window.opens_because
        assert window.closes_because
    for before, after in pairwise(found):
        assert before.closes < after.opens


@given(method_rows, facts_of_patches, sites)
def test_a_span_is_open_on_the_days_of_its_season_years(method, facts, site):
    by_year = [window for year in range(2025, 2029) for window in window_report(method, facts, site, year).windows]
    within = {day for day in open_days(by_year) if FIRST <= day <= LAST}
    assert open_days(open_report(method, facts, site, FIRST, LAST).windows) == within


@given(method_rows, facts_of_patches, sites, st.integers(0, 40))
def test_ephemerals_that_come_earlier_never_keep_a_window_open_longer(method, facts, site, days_earlier):
    emerge = CalendarDay(month=4, day=10, spread_days=3.0)
    earlier = emerge.on(2027) - timedelta(days=days_earlier)
    usual, early = (
        open_days(window_report(method, facts, replace(site, ephemerals_emerge=day), 2027).windows)
        for day in (emerge, replace(emerge, month=earlier.month, day=earlier.day))
    )
    assert early <= usual


@given(method_rows, facts_of_patches, sites)
def test_a_wider_spread_never_widens_a_window_by_leaves(method, facts, site):
    if method.season_rule not in ("dormant season", "growing season"):
        return
    wide = replace(
        site,
        **{
            name: replace(day, spread_days=day.spread_days + 10)
            for name, day in vars(site).items()
            if day is not None and name in ("leaf_out", "leaf_off", "ephemerals_emerge", "hard_freeze")
        },
    )
    narrow, wider = (open_days(window_report(method, facts, year, 2027).windows) for year in (site, wide))
    assert wider <= narrow
