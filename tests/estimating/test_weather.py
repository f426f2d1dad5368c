from datetime import date

import pytest

from estimating.degree_days import accumulated
from estimating.errors import InvalidFact
from estimating.weather import daily_weather

# Invented: 10 and 20 °C give 5 degree days over 10.
ROWS = [(date(2027, 4, 3), 10.0, 20.0), (date(2027, 4, 1), 10.0, 20.0), (date(2027, 4, 5), 10.0, 30.0)]


def test_it_puts_days_in_order():
    assert daily_weather(ROWS).ids == ("2027-04-01", "2027-04-03", "2027-04-05")


def test_it_cuts_out_a_span():
    found = daily_weather(ROWS).between(date(2027, 4, 2), date(2027, 4, 4))
    assert (found.ids, found.high_c.tolist()) == (("2027-04-03",), [20.0])


def test_it_tells_days_that_are_missing():
    found = daily_weather(ROWS).missing(date(2027, 3, 31), date(2027, 4, 4))
    assert found == (date(2027, 3, 31), date(2027, 4, 2), date(2027, 4, 4))


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ((date(2027, 4, 1), 10.0, 20.0), "day: must be after the day before it"),
        ((date(2027, 4, 2), 20.0, 10.0), "low_c: is above the day's high"),
        ((date(2027, 4, 2), float("nan"), 10.0), "low_c: is missing"),
        ((date(2027, 4, 2), 10.0, 86.0), "high_c: must be at most 60"),
    ],
)
def test_it_refuses_a_row_that_cannot_be_and_names_it(row, words):
    with pytest.raises(InvalidFact, match=rf"{words}.*\(row 1\)"):
        daily_weather([*ROWS, row])


def test_it_adds_up_degree_days_and_tells_the_days_missing():
    found = accumulated(daily_weather(ROWS), date(2027, 4, 1), date(2027, 4, 5))
    assert found.degree_days_c == pytest.approx(5 + 5 + 10)
    assert (found.days_counted, found.missing) == (3, (date(2027, 4, 2), date(2027, 4, 4)))


def test_it_adds_nothing_up_without_weather():
    found = accumulated(daily_weather([]), date(2027, 4, 1), date(2027, 4, 2))
    assert (found.degree_days_c, found.days_counted, len(found.missing)) == (0.0, 0, 2)


def test_it_refuses_to_add_up_backwards():
    with pytest.raises(InvalidFact, match="last"):
        accumulated(daily_weather(ROWS), date(2027, 4, 2), date(2027, 4, 1))
