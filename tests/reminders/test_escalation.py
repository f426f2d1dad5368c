"""Who is told of an order that stays open: its lead, then the coordinator; and what acknowledging stops."""

from datetime import UTC, date, datetime

import pytest

from orders.common.stamp import Stamp
from orders.reminders.models import Deadline, Notice
from orders.reminders.services import notice_acknowledge, notices_make
from tests import build
from tests.reminders.build import crew_with_lead

pytestmark = pytest.mark.django_db

LAST_DAY = date(2027, 8, 4)


def at(day, hour=13):
    """Nine in the morning in New York, by default."""
    return datetime(2027, 8, day, hour, tzinfo=UTC)


@pytest.fixture
def crew():
    return crew_with_lead()


@pytest.fixture
def lead(crew):
    return crew.memberships.get().person.user


@pytest.fixture
def order(crew):
    site = build.SiteFactory(time_zone="America/New_York")
    return build.WorkOrderFactory(crew=crew, site=site, state="issued", last_day=LAST_DAY)


@pytest.fixture
def owed(order):
    facts = {"site": order.site, "order": order, "due_on": LAST_DAY}
    return build.DeadlineFactory(plain=True, kind="close", **facts)


def made(when):
    return [(notice.step.code, notice.user) for notice in notices_make(at=when, stamp=Stamp(by=None, at=when))]


def acknowledge(when):
    for notice in Notice.objects.all():
        notice_acknowledge(notice=notice, stamp=Stamp(by=notice.user, at=when))


def test_it_tells_the_lead_first_and_the_coordinator_when_nothing_comes_of_it(owed, lead, coordinator):
    told = [made(when) for when in (at(4, 22), at(5), at(6), at(7), at(8))]
    assert told == [[("evening", lead)], [("one-day", lead)], [], [("three-days", coordinator)], []]


def test_it_does_not_escalate_what_the_lead_has_acknowledged(owed, lead, coordinator):
    made(at(5))
    acknowledge(at(5, 14))
    assert made(at(7)) == []
    assert made(at(11)) == [("one-week", coordinator), ("one-week", lead)]


def test_it_escalates_where_only_the_step_ahead_of_the_day_was_acknowledged(owed, coordinator):
    made(at(4, 22))
    acknowledge(at(4, 23))
    made(at(5))
    assert ("three-days", coordinator) in made(at(7))


def test_it_does_not_escalate_what_is_settled(owed, coordinator):
    made(at(5))
    Deadline.objects.update(state="missed", done_on=date(2027, 8, 6))
    assert made(at(7)) == []


def test_it_tells_each_person_the_latest_step_of_their_own_when_it_runs_late(owed, lead, coordinator):
    assert made(at(8)) == [("three-days", coordinator), ("one-day", lead)]


def test_it_tells_a_new_lead_from_the_step_that_runs(owed, order, lead):
    made(at(5))
    order.crew = crew_with_lead()
    order.save()
    new = order.crew.memberships.get().person.user
    assert made(at(6)) == [("one-day", new)]


def test_it_leaves_out_who_acknowledged_a_step_of_the_same_rung_where_the_step_says_so(coordinator):
    site = build.SiteFactory(time_zone="America/New_York")
    build.DeadlineFactory(plain=True, kind="window", site=site, due_on=date(2027, 8, 18))
    assert made(at(4)) == [("two-weeks", coordinator)]
    acknowledge(at(4, 14))
    assert [made(at(11)), made(at(16))] == [[], [("two-days", coordinator)]]


def test_it_tells_the_person_whose_license_it_is_and_no_other_holder(coordinator):
    holder = build.PersonFactory(user=build.UserFactory(roles=["crew_lead"]))
    build.PersonFactory(user=build.UserFactory(roles=["crew_lead"]))
    license = build.QualificationFactory(person=holder, last_day=date(2027, 9, 3))
    build.DeadlineFactory(plain=True, kind="license", qualification=license, due_on=license.last_day)
    assert made(at(4)) == [("thirty-days", coordinator), ("thirty-days", holder.user)]


def test_it_tells_pesticide_supervisors_of_a_label(coordinator):
    supervisor = build.UserFactory(roles=["pesticide_supervisor"])
    build.DeadlineFactory(plain=True, kind="label", product=build.ProductFactory(), due_on=date(2027, 8, 11))
    assert made(at(4)) == [("one-week", supervisor)]


def test_it_tells_at_once_what_became_known(coordinator):
    build.DeadlineFactory(plain=True, kind="stock", known_at=at(4), due_on=date(2027, 10, 1))
    assert made(at(4)) == [("short", coordinator)]
