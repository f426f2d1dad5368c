from typing import Any

import numpy as np
import pytest

from estimating.crewday import acclimatized_hours, paid_time, productive_hours, work_minutes_per_hour
from estimating.errors import InvalidFact, UnknownCode
from estimating.inputs import CrewDay
from tests.estimating import make


def day(**changed):
    given: dict[str, Any] = {"people": {"crew lead": 1, "crew member": 3}, "allowance": 0.1}
    minutes = {"briefing_minutes": 15, "setup_minutes": 15, "cleanup_minutes": 15, "break_minutes": 45}
    return CrewDay(**(given | minutes | changed))


def test_it_takes_drive_walk_in_and_set_up_off_the_shift():
    facts = make.patches(drive_minutes=[30], walk_in_minutes=[15])
    assert productive_hours(facts, day()).tolist() == [8 - 1 - 0.5 - 1.5]


def test_it_leaves_an_unpaid_drive_out_of_the_shift():
    facts = make.patches(drive_minutes=[30])
    assert productive_hours(facts, day(drive_paid=False)).tolist() == [6.5]


def test_it_works_part_of_each_hour_in_heat():
    facts = make.patches(drive_minutes=[30])
    assert productive_hours(facts, day(work_minutes_per_hour=work_minutes_per_hour(100, "heavy"))).tolist() == [2.75]


@pytest.mark.parametrize(("basis", "crew_days"), [("job", 44 * 1.1 / (4 * 5.5)), ("shift", 44 / 0.9 / (4 * 5.5))])
def test_it_returns_three_named_figures(basis, crew_days):
    time = paid_time(np.array([44.0]), np.array([5.5]), day(allowance_basis=basis))
    assert time.crew_days[0] == pytest.approx(crew_days)
    assert time.crew_hours[0] == pytest.approx(crew_days * 8)
    assert time.paid_person_hours[0] == pytest.approx(crew_days * 8 * 4)


@pytest.mark.parametrize("left", [0.0, -2.0])
def test_it_has_no_answer_where_no_time_is_left(left):
    time = paid_time(np.array([10.0]), np.array([left]), day())
    assert np.isnan([time.crew_days[0], time.crew_hours[0], time.paid_person_hours[0]]).all()


@pytest.mark.parametrize("call", [lambda: work_minutes_per_hour(90, "idle"), lambda: acclimatized_hours(8, 1, "old")])
def test_it_refuses_words_it_does_not_know(call):
    with pytest.raises(UnknownCode, match="must be one of"):
        call()


@pytest.mark.parametrize(
    "call", [lambda: work_minutes_per_hour(float("nan"), "light"), lambda: acclimatized_hours(8, 0, "new")]
)
def test_it_refuses_numbers_that_cannot_be(call):
    with pytest.raises(InvalidFact):
        call()
