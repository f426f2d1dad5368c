"""First-freeze chances: the mixed distribution of NOAA's National Centers for Environmental Information (CLIM20-01)."""

from datetime import date, timedelta

import pytest

from estimating.errors import InvalidFact
from estimating.frost import FirstFreezes, NotEnoughSeasons, first_freezes
from estimating.weather import daily_weather

# Worked out by hand from the published rule: ten seasons, freezes in eight, on these days of the year.
TEN = FirstFreezes((270, 275, 280, 285, 290, 295, 300, 305, None, None), least_seasons=10)


def test_it_counts_seasons_without_a_freeze():
    assert TEN.chance_by(285) == pytest.approx(0.8 * 4 / 8)
    assert TEN.chance_ever() == pytest.approx(0.8)
    assert [TEN.chance_by(269), TEN.chance_by(400)] == pytest.approx([0.0, 0.8])


@pytest.mark.parametrize(
    ("chance", "day"), [(0.1, 270), (0.11, 275), (0.4, 285), (0.8, 305), (0.81, None), (0.9, None)]
)
def test_it_has_no_date_for_a_chance_that_no_season_reaches(chance, day):
    assert TEN.day_of(chance) == day


def test_it_tells_nothing_by_too_few_seasons():
    few = FirstFreezes(TEN.days)
    assert not few.enough
    for told in (few.chance_ever, lambda: few.chance_by(285), lambda: few.day_of(0.5)):
        with pytest.raises(NotEnoughSeasons, match="only 10 seasons on record, 20 are needed"):
            told()


@pytest.mark.parametrize("chance", [0.0, -0.1, 1.1])
def test_it_refuses_what_is_no_chance(chance):
    with pytest.raises(InvalidFact, match="chance"):
        TEN.day_of(chance)


def weather(first, last, freezes, left_out=()):
    """Lows of 5 °C, but 0 °C on some days; invented."""
    every = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    return daily_weather((day, 0.0 if day in freezes else 5.0, 15.0) for day in every if day not in left_out)


def test_it_reads_first_freezes_from_daily_lows_by_cold_season():
    freezes = {date(2021, 10, 20), date(2021, 11, 2), date(2023, 1, 5)}
    found = first_freezes(weather(date(2021, 8, 1), date(2024, 7, 31), freezes), least_seasons=3)
    assert found.days == (80, 157, None)
    assert found.date_of(0.5, 2021) == date(2022, 1, 5)
    assert found.date_of(0.3, 2030) == date(2030, 10, 20)
    assert found.date_of(0.9, 2030) is None


def test_it_leaves_out_seasons_with_days_missing_before_the_freeze_and_the_season_underway():
    freezes = {date(2021, 10, 20), date(2022, 10, 20), date(2023, 10, 20)}
    rows = weather(date(2021, 8, 1), date(2024, 5, 1), freezes, left_out={date(2021, 9, 1), date(2023, 1, 1)})
    assert first_freezes(rows).days == (80,)


def test_it_leaves_out_a_season_without_a_freeze_that_is_not_whole():
    rows = weather(date(2021, 8, 1), date(2023, 7, 31), {}, left_out={date(2022, 7, 31)})
    assert first_freezes(rows).days == (None,)


def test_it_has_no_seasons_without_weather():
    assert first_freezes(daily_weather([])).days == ()
