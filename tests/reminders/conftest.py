from datetime import UTC, datetime

import pytest

from orders.common.stamp import Stamp
from orders.reminders.models import Deadline
from orders.reminders.services import deadlines_refresh
from tests import build
from tests.reminders.build import YEAR


@pytest.fixture
def coordinator(db):
    return build.UserFactory(roles=["coordinator"])


@pytest.fixture
def refresh(db):
    """Refresh the year as of a day, noon in UTC, and return what was counted."""

    def run(day, year=YEAR):
        return deadlines_refresh(
            year=year, stamp=Stamp(by=None, at=datetime(day.year, day.month, day.day, 12, tzinfo=UTC))
        )

    return run


@pytest.fixture
def deadline_on(refresh):
    """The one deadline of the year as it stands on a day."""

    def run(day, year=YEAR):
        refresh(day, year)
        return Deadline.objects.get(year=year)

    return run
