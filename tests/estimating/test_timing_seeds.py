"""The seed deadline: flowers and fruit that were seen bring it forward, and never move it back."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.inputs import CLIMBING, SPRAWLING
from estimating.timing import CalendarDay, SeasonCalendar, SeedFacts, seed_deadline
from tests.estimating.test_timing import MARGINS, SITE

BY_CALENDAR = date(2027, 8, 22)
# Invented: flowers from June 20, fruit from September 10, so 82 days between.
FLOWERING = SeasonCalendar(**{**vars(SITE), "flowering_first": CalendarDay(month=6, day=20)})


def deadline(*components, site=SITE, year=2027):
    vines = [SeedFacts(**{"growth_form": CLIMBING, "fertile": Known.YES} | component) for component in components]
    return seed_deadline(vines, site, year, MARGINS)


def test_it_prevents_seed_where_nothing_was_seen():
    found = deadline({})
    assert (found.due, found.late, found.bag_fruit, found.seed_prevented) == (BY_CALENDAR, False, False, True)


def test_it_cuts_anyway_bags_the_fruit_and_credits_no_seed_prevented_once_fruit_was_seen():
    found = deadline({"fruit_seen_on": date(2027, 10, 1)})
    assert (found.due, found.late, found.bag_fruit, found.seed_prevented) == (BY_CALENDAR, True, True, False)


def test_it_is_brought_forward_by_early_flowers():
    found = deadline({"flowers_seen_on": date(2027, 5, 20), "flower_to_fruit_days": 80})
    assert found.due == date(2027, 5, 20) + timedelta(days=80 - 14)
    assert found.because == "flowers were seen on 2027-05-20, fruit follows in 80 days, less 14 days"
    assert (found.late, found.seed_prevented) == (False, True)


def test_it_is_never_moved_back_by_late_flowers():
    assert deadline({"flowers_seen_on": date(2027, 8, 1), "flower_to_fruit_days": 80}) == deadline({})


def test_it_takes_the_days_between_the_calendars_ranges_where_the_species_has_none():
    seen = {"flowers_seen_on": date(2027, 5, 20)}
    assert deadline(seen, site=FLOWERING).due == date(2027, 5, 20) + timedelta(days=82 - 14)
    assert deadline(seen) == deadline({})


def test_it_counts_flowers_of_the_fall_for_fruit_of_the_next_spring():
    site = SeasonCalendar(
        flowering_first=CalendarDay(month=9, day=15), fruiting_first=CalendarDay(month=3, day=20, spread_days=5)
    )
    early = {"flowers_seen_on": date(2026, 8, 25)}
    assert deadline(early, site=site, year=2027).due == date(2026, 8, 25) + timedelta(days=186 - 14)
    assert deadline(early, site=site, year=2026) == deadline({}, site=site, year=2026)
    assert deadline(early, site=site, year=2028) == deadline({}, site=site, year=2028)


def test_it_takes_fruit_of_the_first_months_as_this_years_where_fruiting_begins_in_them():
    site = SeasonCalendar(fruiting_first=CalendarDay(month=3, day=20, spread_days=5))
    found = deadline({"fruit_seen_on": date(2027, 3, 1)}, site=site, year=2027)
    assert (found.due, found.late) == (date(2027, 3, 1), True)
    assert not deadline({"fruit_seen_on": date(2027, 3, 1)}, site=site, year=2026).late


def test_it_goes_by_the_earliest_of_several_components():
    found = deadline(
        {},
        {"growth_form": SPRAWLING, "flowers_seen_on": date(2027, 5, 20), "flower_to_fruit_days": 80},
        {"flowers_seen_on": date(2027, 5, 10), "flower_to_fruit_days": 80},
    )
    assert found.due == date(2027, 5, 10) + timedelta(days=66)


def test_it_does_not_go_by_flowers_of_what_cannot_fruit():
    barren = {"fertile": Known.NO, "flowers_seen_on": date(2027, 5, 1), "flower_to_fruit_days": 10}
    assert deadline({}, barren) == deadline({})


def test_it_says_that_the_fruiting_range_rests_on_few_years_and_still_goes_by_it():
    site = SeasonCalendar(fruiting_first=CalendarDay(month=9, day=10, spread_days=5, years=2))
    found = deadline({}, site=site)
    assert found.due == BY_CALENDAR
    assert found.because.endswith("only 2 years on record, 3 are needed")


def test_it_refuses_fruit_before_flowers():
    with pytest.raises(InvalidFact, match="flower_to_fruit_days"):
        SeedFacts(growth_form=CLIMBING, fertile=Known.YES, flower_to_fruit_days=-1)


sightings = st.none() | st.dates(date(2026, 1, 1), date(2028, 12, 31))
components = st.fixed_dictionaries(
    {
        "growth_form": st.sampled_from([CLIMBING, SPRAWLING]),
        "fertile": st.sampled_from([Known.YES, Known.UNKNOWN]),
        "flower_to_fruit_days": st.none() | st.integers(0, 300),
    }
)
days_of_year = st.dates(date(2027, 1, 1), date(2027, 12, 31))


@given(
    component=components,
    flowers=sightings,
    fruit=sightings,
    first=days_of_year,
    flowering=days_of_year,
    spread_days=st.floats(0, 30),
)
def test_it_never_moves_back_with_more_evidence(component, flowers, fruit, first, flowering, spread_days):
    site = SeasonCalendar(
        flowering_first=CalendarDay(month=flowering.month, day=flowering.day),
        fruiting_first=CalendarDay(month=first.month, day=first.day, spread_days=spread_days),
    )
    evidence = [{}, {"flowers_seen_on": flowers}, {"flowers_seen_on": flowers, "fruit_seen_on": fruit}]
    found = [deadline(component | seen, site=site) for seen in evidence]
    assert found[0].due >= found[1].due >= found[2].due
    assert not found[1].late
    assert found[2].late == found[2].bag_fruit == (not found[2].seed_prevented)
    if fruit is not None and found[2].late:
        assert found[2].due <= fruit
