"""What windows rest on: records of years enough, and the plant's own leaves."""

from datetime import date

import pytest

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.timing import CalendarDay, Margins, SeasonCalendar, TimingFacts, calendar_from_years, window_report
from tests.estimating import make
from tests.estimating.test_timing import MARGINS, SITE, days

# Invented: a shrub that drops its leaves about December 10 (sd 4 days).
LATE_SHRUB = CalendarDay(month=12, day=10, spread_days=4)


def with_records(**records):
    return SeasonCalendar(**{**vars(SITE), **records})


def report(method, site=SITE, margins=MARGINS, year=2027, **facts):
    return window_report(make.methods()[method], TimingFacts(**facts), site, year, (), margins)


def test_it_takes_the_mean_and_the_spread_of_the_years():
    found = calendar_from_years({2023: date(2023, 11, 10), 2024: date(2024, 11, 14), 2025: date(2025, 11, 21)})
    assert (found.month, found.day, found.years, found.year_offset) == (11, 15, 3, 0)
    assert found.spread_days == pytest.approx(5.568, abs=1e-3)


def test_it_takes_the_mean_over_the_new_year():
    found = calendar_from_years({2023: date(2023, 12, 28), 2024: date(2025, 1, 8)})
    assert found.on(2027) == date(2028, 1, 2)
    early = calendar_from_years({2023: date(2023, 12, 20), 2024: date(2025, 1, 3)})
    assert early.on(2027) == date(2027, 12, 27)


def test_it_takes_a_mean_in_the_year_before():
    found = calendar_from_years({2024: date(2023, 12, 30), 2025: date(2024, 12, 28)})
    assert found.on(2027) == date(2026, 12, 29)


def test_it_takes_a_leap_day_as_the_day_before():
    assert calendar_from_years({2024: date(2024, 2, 29)}) == CalendarDay(month=2, day=28, years=1)


def test_it_needs_a_year_on_record():
    with pytest.raises(InvalidFact, match="no year"):
        calendar_from_years({})
    with pytest.raises(InvalidFact, match="years"):
        CalendarDay(month=1, day=1, years=0)


def test_it_opens_a_window_by_a_leaf_off_after_the_new_year():
    site = with_records(leaf_off=CalendarDay(month=1, day=3, spread_days=2, years=5, year_offset=1))
    found = report("dormant-foliar", site, evergreen=Known.YES, spring_ephemerals=Known.NO)
    assert days(found) == [(date(2028, 1, 12), date(2028, 3, 28))]


@pytest.mark.parametrize(
    ("record", "method", "words"),
    [
        ("leaf_off", "dormant-foliar", "Leaf-off"),
        ("leaf_out", "dormant-foliar", "Leaf-out"),
        ("ephemerals_emerge", "dormant-foliar", "Spring ephemerals"),
        ("leaf_off", "spot-foliar", "Leaf-off"),
        ("leaf_out", "spot-foliar", "Leaf-out"),
    ],
)
def test_it_opens_no_window_by_too_few_years(record, method, words):
    site = with_records(**{record: CalendarDay(month=3, day=1, years=2)})
    found = report(method, site, evergreen=Known.YES)
    assert (found.windows, found.notes) == ((), (f"{words}: only 2 years on record, 3 are needed.",))


def test_it_names_each_record_that_is_too_short():
    site = with_records(leaf_off=CalendarDay(month=11, day=1, years=1), leaf_out=CalendarDay(month=4, day=1, years=2))
    assert report("spot-foliar", site).notes == (
        "Leaf-off: only 1 year on record, 3 are needed.",
        "Leaf-out: only 2 years on record, 3 are needed.",
    )


def test_it_opens_a_window_once_there_are_years_enough_by_the_programs_count():
    site = with_records(leaf_off=CalendarDay(month=11, day=15, years=2))
    assert report("spot-foliar", site).windows == ()
    assert report("spot-foliar", site, Margins(least_years=2)).windows != ()


@pytest.mark.parametrize(
    ("site", "window"),
    [
        (with_records(ground_freezes=CalendarDay(month=6, day=1, years=1)), (date(2027, 3, 10), date(2027, 12, 31))),
        (with_records(ground_thaws=CalendarDay(month=6, day=1, years=1)), (date(2027, 1, 1), date(2027, 12, 15))),
    ],
)
def test_it_works_the_ground_as_if_a_record_too_short_were_none(site, window):
    found = report("hand-pull", site)
    assert days(found) == [window]
    assert "only 1 year on record" in found.notes[0]


def test_it_does_not_ask_for_ephemerals_where_none_grow():
    site = with_records(ephemerals_emerge=CalendarDay(month=3, day=1, years=1))
    found = report("dormant-foliar", site, evergreen=Known.YES, spring_ephemerals=Known.NO)
    assert (len(found.windows), found.notes) == (1, ())


@pytest.mark.parametrize("evergreen", [Known.NO, Known.UNKNOWN])
def test_it_sprays_shrubs_that_are_green_when_natives_are_bare(evergreen):
    found = report("dormant-foliar", evergreen=evergreen, holds_leaves_until=LATE_SHRUB)
    assert days(found) == [(date(2027, 11, 27), date(2027, 12, 6))]
    assert found.windows[0].opens_because == "natives are out of leaf, plus 7 days"
    assert found.windows[0].closes_because == "the plant drops its own leaves"
    assert found.notes == ()


def test_it_sprays_evergreens_all_winter_whatever_else_is_known():
    found = report("dormant-foliar", evergreen=Known.YES, holds_leaves_until=LATE_SHRUB, spring_ephemerals=Known.NO)
    assert found.windows[0].closes == date(2028, 3, 28)


def test_it_ends_late_green_leaves_with_a_hard_freeze():
    site = with_records(hard_freeze=CalendarDay(month=12, day=3, spread_days=2))
    found = report("dormant-foliar", site, evergreen=Known.NO, holds_leaves_until=LATE_SHRUB)
    assert (found.windows[0].closes, found.windows[0].closes_because) == (
        date(2027, 12, 1),
        "a hard freeze ends its leaves",
    )


def test_it_says_that_the_record_of_hard_freezes_is_too_short_and_goes_by_the_leaves():
    site = with_records(hard_freeze=CalendarDay(month=12, day=3, years=1))
    found = report("dormant-foliar", site, evergreen=Known.NO, holds_leaves_until=LATE_SHRUB)
    assert found.windows[0].closes == date(2027, 12, 6)
    assert found.notes == ("Hard freeze: only 1 year on record, 3 are needed.",)


def test_it_keeps_clear_of_ephemerals_where_leaves_hold_until_spring():
    late = CalendarDay(month=3, day=20, year_offset=1)
    found = report("dormant-foliar", evergreen=Known.NO, holds_leaves_until=late)
    assert found.windows[0].closes == date(2028, 2, 19)


@pytest.mark.parametrize(
    ("site", "drops", "note"),
    [
        (SeasonCalendar(), LATE_SHRUB, "The site's calendar has no leaf-off or leaf-out date"),
        (SITE, CalendarDay(month=12, day=10, years=2), "The plant's own leaf drop: only 2 years on record"),
        (SITE, CalendarDay(month=11, day=20), "before it opens (natives are out of leaf"),
    ],
)
def test_it_opens_no_late_green_window_on_guesses(site, drops, note):
    found = report("dormant-foliar", site, evergreen=Known.NO, holds_leaves_until=drops)
    assert found.windows == ()
    assert note in found.notes[0]


def test_it_ends_the_growing_season_with_a_hard_freeze_that_comes_before_leaf_off():
    site = with_records(hard_freeze=CalendarDay(month=10, day=20, spread_days=5))
    found = report("spot-foliar", site)
    assert days(found) == [(date(2027, 4, 16), date(2027, 10, 15))]
    assert found.windows[0].closes_because == "a hard freeze ends growth"


TIMED = TimingFacts(evergreen=Known.YES, spring_ephemerals=Known.NO)


def test_it_states_the_mild_spell_and_both_limits_of_temperature():
    margins = Margins(mild_spell_days=3)
    found = window_report(
        make.methods()["dormant-foliar"],
        TimingFacts(evergreen=Known.YES),
        SITE,
        2027,
        (),
        margins,
        label_temps_c=(10.0, 30.0),
    )
    assert found.conditions == (
        "At 50 °F (10 °C) or above, by the label.",
        "In a mild spell, 3 days or more at 50 °F (10 °C) or above, on dry leaves that are free of litter.",
        "At 86 °F (30 °C) or below, by the label.",
    )


def test_it_opens_no_window_where_the_label_stops_below_what_the_method_needs():
    found = window_report(make.methods()["dormant-foliar"], TIMED, SITE, 2027, label_temps_c=(None, 4.0))
    assert found.windows == ()
    assert found.notes == ("The label stops at 39 °F (4 °C), 40 °F (4.4 °C) is needed.",)


def test_it_goes_by_the_method_where_the_label_allows_colder_days():
    found = window_report(make.methods()["dormant-foliar"], TIMED, SITE, 2027, label_temps_c=(-5.0, None))
    assert found.conditions[0] == "At 40 °F (4.4 °C) or above."
