from datetime import date

import pytest

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.inputs import CLIMBING, GROUND_COVER, SHRUB, SPRAWLING
from estimating.timing import (
    CalendarDay,
    Closure,
    Margins,
    SeasonCalendar,
    SeedFacts,
    TimingFacts,
    seed_deadline,
    window_report,
    windows,
)
from tests.estimating import make

# An invented site: leaf-off November 15 (sd 5 days), ephemerals March 1 (sd 4), leaf-out April 10 (sd 6).
SITE = SeasonCalendar(
    leaf_out=CalendarDay(month=4, day=10, spread_days=6),
    leaf_off=CalendarDay(month=11, day=15, spread_days=5),
    ephemerals_emerge=CalendarDay(month=3, day=1, spread_days=4),
    fruiting_first=CalendarDay(month=9, day=10, spread_days=5),
    fruiting_last=CalendarDay(month=11, day=20),
    ground_freezes=CalendarDay(month=12, day=20, spread_days=5),
    ground_thaws=CalendarDay(month=3, day=5, spread_days=5),
)
MARGINS = Margins(after_leaf_off_days=7, before_ephemerals_days=7, before_leaf_out_days=7, before_fruit_days=14)


def report(method, site=SITE, closures=(), **facts):
    return window_report(make.methods()[method], TimingFacts(**facts), site, 2027, closures, MARGINS)


def days(found):
    return [(window.opens, window.closes) for window in found.windows]


def test_it_sprays_evergreens_from_leaf_off_until_ephemerals_emerge():
    found = report("dormant-foliar", evergreen=Known.YES, spring_ephemerals=Known.YES)
    assert days(found) == [(date(2027, 11, 27), date(2028, 2, 19))]
    assert found.windows[0].opens_because == "natives are out of leaf, plus 7 days"
    assert found.windows[0].closes_because == "spring ephemerals emerge, less 7 days"


def test_it_sprays_until_leaf_out_where_no_ephemerals_grow():
    found = report("dormant-foliar", evergreen=Known.YES, spring_ephemerals=Known.NO)
    assert days(found) == [(date(2027, 11, 27), date(2028, 3, 28))]
    assert "leaf out" in found.windows[0].closes_because


def test_it_keeps_clear_of_ephemerals_that_may_grow():
    found = report("dormant-foliar", evergreen=Known.YES)
    assert found.windows[0].closes == date(2028, 2, 19)
    assert "which may grow here" in found.windows[0].closes_because


def test_it_closes_at_whichever_comes_first():
    early = SeasonCalendar(
        leaf_off=SITE.leaf_off, leaf_out=CalendarDay(month=2, day=20), ephemerals_emerge=SITE.ephemerals_emerge
    )
    found = report("dormant-foliar", site=early, evergreen=Known.YES, spring_ephemerals=Known.YES)
    assert found.windows[0].closes == date(2028, 2, 13)


def test_it_never_sprays_bare_twigs():
    found = report("dormant-foliar", evergreen=Known.NO)
    assert found.windows == ()
    assert "nothing to spray" in found.notes[0]


@pytest.mark.parametrize(
    "site",
    [
        SeasonCalendar(),
        SeasonCalendar(leaf_off=SITE.leaf_off),
        SeasonCalendar(leaf_off=SITE.leaf_off, leaf_out=SITE.leaf_out),
    ],
)
def test_it_opens_no_window_on_guesses(site):
    found = report("dormant-foliar", site=site, evergreen=Known.YES)
    assert (found.windows, len(found.notes)) == ((), 1)


def test_it_asks_the_survey_if_the_plant_keeps_its_leaves():
    found = report("dormant-foliar")
    assert days(found) == [(date(2027, 11, 27), date(2028, 2, 19))]
    assert found.notes[0].startswith("unknown: survey first")


def test_it_says_what_the_day_must_be_like():
    assert report("cut-stem").conditions == ("At 40 °F (4.4 °C) or above.",)
    assert "dry leaves that are free of litter" in report("dormant-foliar", evergreen=Known.YES).conditions[1]
    assert report("basal-bark").conditions[1] == "On dry bark."


@pytest.mark.parametrize(
    ("method", "window"),
    [
        ("spot-foliar", (date(2027, 4, 16), date(2027, 11, 10))),
        ("hand-pull", (date(2027, 3, 10), date(2027, 12, 15))),
        ("cut-stem", (date(2027, 1, 1), date(2028, 3, 31))),
    ],
)
def test_it_opens_other_methods_by_their_season(method, window):
    assert days(report(method)) == [window]


def test_it_takes_closures_out_and_says_why():
    deer = Closure(date(2027, 12, 4), date(2027, 12, 12), "deer season")
    found = report("dormant-foliar", closures=[deer], evergreen=Known.YES, spring_ephemerals=Known.NO)
    assert days(found) == [(date(2027, 11, 27), date(2027, 12, 3)), (date(2027, 12, 13), date(2028, 3, 28))]
    assert found.windows[0].closes_because == "the site closes: deer season"
    assert found.windows[1].opens_because == "the site opens: deer season"


def test_it_notes_that_closures_leave_nothing():
    shut = Closure(date(2027, 1, 1), date(2028, 12, 31), "burned bridge")
    assert report("cut", closures=[shut]).notes == ("Closures leave no window open.",)


def test_it_notes_a_window_that_would_close_before_it_opens():
    odd = SeasonCalendar(leaf_off=CalendarDay(month=12, day=30, spread_days=20), leaf_out=CalendarDay(month=1, day=10))
    found = report("dormant-foliar", site=odd, evergreen=Known.YES, spring_ephemerals=Known.NO)
    assert found.windows == ()
    assert "before it opens" in found.notes[0]


def test_it_gives_the_windows_alone():
    cut = make.methods()["cut"]
    assert windows(cut, TimingFacts(), SITE, 2027) == window_report(cut, TimingFacts(), SITE, 2027).windows


def deadline(*components, year=2027):
    return seed_deadline([SeedFacts(**component) for component in components], SITE, year, MARGINS)


def test_it_sets_the_seed_deadline_before_the_early_end_of_fruiting():
    found = deadline({"growth_form": CLIMBING, "fertile": Known.YES})
    assert (found.due, found.late) == (date(2027, 8, 22), False)


@pytest.mark.parametrize("form", [CLIMBING, SPRAWLING])
def test_it_sets_a_deadline_where_it_is_not_known_to_be_barren(form):
    found = deadline({"growth_form": form, "fertile": Known.UNKNOWN})
    assert (found.due, "may fruit" in found.because) == (date(2027, 8, 22), True)


@pytest.mark.parametrize(
    "component",
    [
        {"growth_form": GROUND_COVER, "fertile": Known.YES},
        {"growth_form": SHRUB, "fertile": Known.YES},
        {"growth_form": CLIMBING, "fertile": Known.NO},
    ],
)
def test_it_sets_no_deadline_where_nothing_fruits(component):
    assert deadline(component) is None


@pytest.mark.parametrize(
    ("seen", "due", "late"),
    [
        (date(2027, 8, 1), date(2027, 8, 1), True),
        (date(2027, 10, 1), date(2027, 8, 22), True),
        (date(2028, 2, 1), date(2027, 8, 22), True),
        (date(2027, 1, 15), date(2027, 8, 22), False),
    ],
)
def test_it_is_late_and_never_later_once_fruit_was_seen(seen, due, late):
    found = deadline({"growth_form": CLIMBING, "fertile": Known.YES, "fruit_seen_on": seen})
    assert (found.due, found.late) == (due, late)


def test_it_needs_a_fruiting_range_for_a_deadline():
    with pytest.raises(InvalidFact, match="no fruiting range"):
        seed_deadline([SeedFacts(growth_form=CLIMBING, fertile=Known.YES)], SeasonCalendar(), 2027)


@pytest.mark.parametrize(("month", "day"), [(2, 29), (13, 1), (4, 31), (1, 0)])
def test_it_refuses_a_day_that_not_every_year_has(month, day):
    with pytest.raises(InvalidFact, match="ordinary year"):
        CalendarDay(month=month, day=day)


def test_it_refuses_a_closure_that_ends_before_it_begins():
    with pytest.raises(InvalidFact, match="before the first day"):
        Closure(date(2027, 5, 2), date(2027, 5, 1), "")
