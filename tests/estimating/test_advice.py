from datetime import date, timedelta

from estimating.advice import season_advice
from estimating.timing import CalendarDay, SeasonCalendar
from estimating.weather import daily_weather

SITE = SeasonCalendar(leaf_off=CalendarDay(month=11, day=15, spread_days=5))
ON = date(2026, 11, 28)


def weather(first, last, low_c=10.0, high_c=20.0, left_out=()):
    """The same low and high every day; invented."""
    every = (first + timedelta(days=number) for number in range((last - first).days + 1))
    return [(day, low_c, high_c) for day in every if day not in left_out]


def test_it_tells_day_length_alone_where_there_is_no_weather():
    line = "Advice only, the site's own records decide. Day length 9 h 38 min"
    line += ", below 11 h since October 21, below 10.5 h since November 2."
    assert season_advice(ON, 40.0, SITE).line == line
    assert season_advice(ON, 40.0, SITE, daily_weather([])).line == line


def test_it_tells_days_that_are_still_to_come():
    assert "below 11 h from October 21" in season_advice(date(2026, 6, 1), 40.0, SITE).line


def test_it_sets_degree_days_beside_those_of_other_years():
    rows = weather(date(2025, 1, 1), date(2025, 12, 31), high_c=30.0) + weather(date(2026, 1, 1), ON)
    found = season_advice(ON, 40.0, SITE, daily_weather(rows)).sentences[0]
    days = (ON - date(2025, 12, 31)).days
    assert found == f"Degree days (86/50 °F) since January 1: {days * 9:,}; {days * 18:,} by this day in 1 other year."


def test_it_tells_days_missing_and_leaves_out_years_with_gaps():
    gap = {date(2025, 3, 1), date(2026, 3, 1), date(2026, 3, 2)}
    found = season_advice(ON, 40.0, SITE, daily_weather(weather(date(2025, 1, 1), ON, left_out=gap))).sentences[0]
    assert "at least 2,970, 2 days missing; no other year is whole up to this day" in found


def test_it_takes_a_leap_day_as_the_day_before_in_other_years():
    rows = daily_weather(weather(date(2027, 1, 1), date(2028, 2, 29)))
    assert "540; 531 by this day" in season_advice(date(2028, 2, 29), 40.0, SITE, rows).sentences[0]


def test_it_sets_the_models_leaf_fall_beside_the_sites_own_mean():
    rows = daily_weather(weather(date(2026, 7, 1), ON))
    own = "the site's own mean is November 15, which is more accurate."
    assert f"Leaf fall of 2026 by a model is September 15; {own}" in season_advice(ON, 40.0, SITE, rows).sentences
    before = season_advice(date(2026, 9, 1), 40.0, SITE, rows).sentences
    assert f"Leaf fall of 2026 by a model is not reached by September 1; {own}" in before


def test_it_tells_the_leaf_fall_of_last_year_in_spring():
    rows = daily_weather(weather(date(2026, 7, 1), date(2027, 3, 1)))
    assert "Leaf fall of 2026 by a model is September 15" in season_advice(date(2027, 3, 1), 40.0, SITE, rows).line


def test_it_says_that_the_site_has_no_record_of_its_own():
    rows = daily_weather(weather(date(2026, 7, 1), ON))
    assert "the site has no record of its own." in season_advice(ON, 40.0, SeasonCalendar(), rows).line


def test_it_tells_leaf_fall_and_freeze_of_northern_sites_only():
    rows = daily_weather(weather(date(2026, 7, 1), ON))
    assert len(season_advice(ON, 40.0, SITE, rows).sentences) == 4
    assert len(season_advice(ON, -40.0, SITE, rows).sentences) == 2


def test_it_does_not_look_at_what_lies_after_the_day():
    rows = weather(date(2026, 1, 1), ON)
    later = daily_weather(rows + weather(ON + timedelta(days=1), date(2027, 3, 1), low_c=-20.0, high_c=-5.0))
    assert season_advice(ON, 40.0, SITE, later) == season_advice(ON, 40.0, SITE, daily_weather(rows))


def test_it_tells_the_first_freeze_only_by_seasons_enough():
    few = daily_weather(weather(date(2024, 8, 1), ON))
    assert "First freeze: 2 of the 20 seasons needed are on record." in season_advice(ON, 40.0, SITE, few).sentences
    mild = weather(date(2006, 8, 1), ON)
    cold = [(day, -1.0, high) if (day.month, day.day) == (10, 20) else (day, low, high) for day, low, high in mild]
    told = season_advice(ON, 40.0, SITE, daily_weather(cold)).sentences[-1]
    assert told == "First freeze: half of 20 seasons froze by October 20."
    never = season_advice(ON, 40.0, SITE, daily_weather(mild)).sentences[-1]
    assert never == "First freeze: fewer than half of 20 seasons froze."
