from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.crewday import day_work_minutes, heat_share
from estimating.inputs import CrewDay
from estimating.notes import Note
from estimating.pace import crew_limits, crew_pace, crowding
from tests.estimating import make


def day(**changed):
    given: dict[str, Any] = {"people": {"crew lead": 1, "crew member": 3}, "allowance": 0.0}
    return CrewDay(**(given | changed))


def limited(**figures):
    return make.tiny_book(*(make.figure("allowance", name, value, method="pull") for name, value in figures.items()))


def made(book=None, crew_day=None, area_m2=10_000.0):
    parts = make.components(infested_area_m2=area_m2)
    return make.estimated(make.patches(), parts, rate_book=book, crew_day=crew_day or day())


def test_it_keeps_standard_hours_where_a_trained_crew_has_room():
    found = made()
    assert found.time.field_person_hours.tolist() == found.pace.standard_person_hours.tolist() == [52.5]


def test_it_takes_longer_with_people_of_a_slower_pace():
    # Two at 0.5 and two at 1 do the work of three.
    people = {"crew lead": 2, "volunteer": 2}
    rates = dict.fromkeys(("crew lead", "volunteer", "crew member", "certified applicator"), 10_000)
    prices = make.prices(role_rate_e4_per_hour=rates)
    found = make.estimated(
        make.patches(), make.components(), crew_day=day(people=people, pace={"volunteer": 0.5}), prices=prices
    )
    assert found.time.field_person_hours[0] == pytest.approx(52.5 * 4 / 3)
    assert found.pace.effective_people[0] == pytest.approx(3)


def test_it_takes_the_pace_of_volunteers_from_the_book():
    assert make.book().crew_day({"crew lead": 1, "volunteer": 4}).pace == {"volunteer": 0.6}
    assert make.book().crew_day(make.PEOPLE).pace == {}


@pytest.mark.parametrize(("people", "area_m2", "factor"), [(1, 50, 1), (4, 90, 1.3), (4, 0, 4), (11, 10, 6)])
def test_it_crowds_people_on_little_ground(people, area_m2, factor):
    # 1 + (n - 1) x 10 / (10 + area): 4 on 90 m2: 1 + 3 x 0.1.
    assert crowding(people, np.array([float(area_m2)]), 10)[0] == pytest.approx(factor)


@given(st.integers(1, 40), st.floats(0, 1e6), st.floats(0.1, 1000))
def test_it_never_gets_more_done_by_one_person_more_than_one_person_does(people, area_m2, elbow_m2):
    area = np.array([area_m2])
    effective = [n / crowding(n, area, elbow_m2)[0] for n in (people, people + 1)]
    assert -1e-9 <= effective[1] - effective[0] <= 1 + 1e-9


def test_it_doubles_the_work_of_twice_the_crew_on_open_ground():
    # NWCG Math 9.8, https://www.nwcg.gov/node?page=450: 1,800 ft take one crew of 15 two hours, two crews one.
    one, two = (n / crowding(n, np.array([1e9]), 10)[0] for n in (15, 30))
    assert two / one == pytest.approx(2, rel=1e-5)


def test_it_lets_crowding_stretch_person_hours_and_shorten_the_day_still():
    book = limited(elbow_room_m2=100)
    small, large = (made(book, day(people={"crew member": n}), area_m2=300.0).time for n in (2, 8))
    assert small.field_person_hours[0] < large.field_person_hours[0]
    assert small.crew_days[0] > large.crew_days[0]


def test_it_sends_no_more_than_the_method_takes():
    found = made(limited(crew_most=2))
    assert (found.time.people[0], found.pace.crew_sent[0]) == (2, 2)
    assert found.time.paid_person_hours[0] == pytest.approx(found.time.crew_hours[0] * 2)
    assert found.time.crew_days[0] == pytest.approx(2 * made().time.crew_days[0])
    assert found.notes[0] & Note.CREW_PART_SENT


def test_it_says_where_the_crew_is_too_small_for_the_method():
    found = [made(limited(crew_least=least)) for least in (4, 5)]
    assert [bool(entry.notes[0] & Note.CREW_TOO_SMALL) for entry in found] == [False, True]
    assert found[1].ok[0]


def test_it_knows_no_limits_where_the_book_has_none():
    limits = crew_limits(make.tiny_book(), "pull")
    assert (limits.least, limits.sent(9), limits.elbow_room_m2) == (1, 9, 0)


@pytest.mark.parametrize(("new", "returning", "on_day", "share"), [(2, 0, 1, 0.6), (0, 2, 1, 0.75), (1, 1, 4, 0.95)])
def test_it_eases_new_and_returning_people_into_heat(new, returning, on_day, share):
    # NIOSH: new people 20% of the shift and 20% more a day; returning ones 50, 60, 80, 100%.
    hot = day(air_temperature_f=92, new_workers=new, returning_workers=returning, day_in_heat=on_day)
    assert heat_share(hot) == pytest.approx(share)
    assert crew_pace(hot) == pytest.approx(share)


@pytest.mark.parametrize("air_f", [None, 89.9])
def test_it_knows_of_no_heat_below_the_table_or_without_a_temperature(air_f):
    assert heat_share(day(air_temperature_f=air_f, new_workers=4)) == 1


@pytest.mark.parametrize(("air_f", "own", "minutes"), [(None, 50, 50), (80, 60, 60), (102, 60, 35), (102, 20, 20)])
def test_it_works_by_the_shorter_of_its_own_hour_and_the_heat_tables(air_f, own, minutes):
    assert day_work_minutes(day(air_temperature_f=air_f, work_minutes_per_hour=own)) == minutes


def test_it_stops_where_the_heat_table_stops_and_says_so():
    found = made(crew_day=day(air_temperature_f=108))
    assert (found.ok[0], found.money.total_cents[0]) == (False, 0)
    assert found.note_texts(0) == ("It is too hot for this work by the work/rest table: plan another day.",)
    assert made(crew_day=day(air_temperature_f=108, workload="light")).ok[0]
