"""Entry after an application, and its signs: figures worked out from the Worker Protection Standard's rules.

The interval counts from the end of the application (40 CFR 170, from memory); signs not earlier than 24 h before, down
within 3 days after the interval ends (Washington State University on 40 CFR 170).
"""

from datetime import datetime

import pytest

from estimating.entry import entry_after

STARTED = datetime.fromisoformat("2026-06-10T13:00:00-04:00")
ENDED = datetime.fromisoformat("2026-06-10T15:40:00-04:00")


def test_it_opens_twelve_hours_after_the_end():
    assert entry_after(STARTED, ENDED, 12).opens_at == datetime.fromisoformat("2026-06-11T03:40:00-04:00")


def test_it_tells_when_signs_go_up_and_come_down():
    entry = entry_after(STARTED, ENDED, 12)
    assert entry.sign_up_from == datetime.fromisoformat("2026-06-09T13:00:00-04:00")
    assert entry.sign_down_by == datetime.fromisoformat("2026-06-14T03:40:00-04:00")


def test_it_opens_at_the_end_where_the_label_sets_no_interval():
    assert entry_after(STARTED, ENDED, 0).opens_at == ENDED


@pytest.mark.parametrize(
    ("started_at", "ended_at", "hours"),
    [(ENDED, STARTED, 12), (STARTED, ENDED, -1), (STARTED.replace(tzinfo=None), ENDED, 12)],
)
def test_it_takes_no_nonsense(started_at, ended_at, hours):
    with pytest.raises(ValueError, match=r"\w"):
        entry_after(started_at, ended_at, hours)
