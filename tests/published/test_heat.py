"""Work and rest in heat: NIOSH 2016-106, http://www.cdc.gov/niosh/mining/content/heatstressworkrest.html"""

import pytest

from estimating.crewday import acclimatized_hours, work_minutes_per_hour
from estimating.errors import WorkStopped

STOP = 0
TABLE = {
    "light": [60] * 11 + [45, 40, 35, 30, 15, STOP],
    "moderate": [60] * 5 + [45, 40, 35, 30, 30, 25, 20, 15] + [STOP] * 4,
    "heavy": [45, 45, 40, 35, 35, 30, 30, 25, 20, 20, 15] + [STOP] * 6,
}
CELLS = [(load, 95 + n, minutes) for load, column in TABLE.items() for n, minutes in enumerate(column)]


@pytest.mark.parametrize(("load", "air_f", "minutes"), [cell for cell in CELLS if cell[2]])
def test_it_has_each_cell_of_the_table(load, air_f, minutes):
    assert work_minutes_per_hour(air_f, load) == minutes


@pytest.mark.parametrize(("load", "air_f"), [cell[:2] for cell in CELLS if not cell[2]])
def test_it_stops_work_where_the_table_says_caution(load, air_f):
    with pytest.raises(WorkStopped, match="plan another day"):
        work_minutes_per_hour(air_f, load)


@pytest.mark.parametrize("load", TABLE)
def test_it_works_normally_up_to_94_and_stops_above_the_table(load):
    assert work_minutes_per_hour(94, load) == 60
    with pytest.raises(WorkStopped):
        work_minutes_per_hour(130, load)


def test_it_takes_the_published_example_of_heavy_work_at_104():
    minutes = work_minutes_per_hour(104, "heavy")
    assert (minutes, 60 - minutes, 60 / minutes) == (20, 40, 3.0)


def test_it_counts_a_part_of_a_degree_as_the_hotter_one():
    assert work_minutes_per_hour(103.2, "heavy") == work_minutes_per_hour(104, "heavy")


@pytest.mark.parametrize(
    ("person", "hours"), [("new", [1.6, 3.2, 4.8, 6.4, 8.0, 8.0]), ("returning", [4.0, 4.8, 6.4, 8.0, 8.0])]
)
def test_it_eases_people_into_heat(person, hours):
    # NIOSH acclimatization: new 20% and 20% more a day; returning 50, 60, 80, 100%.
    days = [acclimatized_hours(8, day, person) for day in range(1, len(hours) + 1)]
    assert days == pytest.approx(hours)
