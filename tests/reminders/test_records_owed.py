"""A record is owed of each use that is on record, by the rule of the state, until it is signed whole."""

from datetime import UTC, date, datetime, timedelta

import pytest

from orders.common.stamp import Stamp
from orders.reminders.models import Deadline
from orders.reminders.services import owed_refresh
from orders.workorders.models import RecordProfile
from orders.workorders.records.signing import record_amend, record_sign
from tests import build
from tests.reminders.test_owed_refresh import order
from tests.workorders.records.uses import DAY, ENDED, SIGNED, signature, use

pytestmark = pytest.mark.django_db


def refresh(day=DAY, hour=20):
    return owed_refresh(stamp=Stamp(by=None, at=datetime(day.year, day.month, day.day, hour, tzinfo=UTC)))


def rows():
    return list(Deadline.objects.filter(kind="record").order_by("id"))


@pytest.fixture
def stamp():
    return build.stamp(at=SIGNED)


@pytest.mark.parametrize(
    ("jurisdiction", "due_on"),
    [("OH", DAY), ("MO", date(2026, 7, 8)), ("IN", date(2026, 8, 1)), ("KY", date(2026, 7, 16))],
)
def test_it_owes_a_record_from_the_end_of_the_use(jurisdiction, due_on):
    application = use(jurisdiction=jurisdiction)
    refresh()
    (row,) = rows()
    assert (row.due_on, row.state, row.known_at, row.order) == (due_on, "open", ENDED, application.order)
    assert RecordProfile.objects.get(jurisdiction=jurisdiction).source in row.because


def test_it_owes_one_for_all_uses_of_a_mix_place_day_and_applicator():
    first = use()
    use(first.batch, responsible=first.responsible)
    use(first.batch)
    refresh()
    assert len(rows()) == 2


def test_it_is_settled_by_a_whole_record_on_the_day_of_its_signature(stamp):
    application = use(jurisdiction="OH")
    refresh()
    record_sign(signature=signature(application), stamp=stamp)
    refresh()
    (row,) = rows()
    assert (row.state, row.done_on) == ("met", DAY)


def test_it_stays_owed_while_something_is_missing_and_ends_late(stamp):
    application = use(jurisdiction="OH")
    refresh()
    first = record_sign(signature=signature(application, without=("requester",)), stamp=stamp)
    refresh()
    assert rows()[0].state == "open"
    assert "It lacks: requester." in rows()[0].because
    refresh(date(2026, 7, 3))
    assert rows()[0].state == "missed"
    again = signature(application, at=SIGNED + timedelta(days=2))
    record_amend(record=first, signature=again, reason="Asked the owner", stamp=stamp)
    refresh(date(2026, 7, 4))
    assert (rows()[0].state, rows()[0].done_on) == ("missed", date(2026, 7, 4))


def test_it_counts_from_the_first_whole_revision(stamp):
    application = use(jurisdiction="OH")
    refresh()
    first = record_sign(signature=signature(application), stamp=stamp)
    late = signature(application, at=SIGNED + timedelta(days=5))
    record_amend(record=first, signature=late, reason="A better word", stamp=stamp)
    refresh(date(2026, 7, 9))
    assert (rows()[0].state, rows()[0].done_on) == ("met", DAY)


def test_it_takes_the_place_of_what_was_owed_by_the_plan():
    planned = order()
    refresh()
    assert [row.state for row in rows()] == ["open"]
    use(jurisdiction="MO", order=planned)
    refresh()
    assert [(row.state, row.order) for row in rows()] == [("ended", planned), ("open", planned)]
    assert "on record one by one" in rows()[0].because


def test_it_keeps_what_is_owed_however_old():
    use()
    refresh()
    refresh(date(2027, 7, 2))
    assert [row.state for row in rows()] == ["missed"]


def test_it_ends_where_the_use_was_struck():
    first = use()
    refresh()
    use(first.batch, replaces=first, responsible=build.PersonFactory())
    refresh()
    assert [row.state for row in rows()] == ["ended", "open"]
