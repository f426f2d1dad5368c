"""What is owed, incomplete and there, by use and by order."""

from datetime import date, timedelta

import pytest

from orders.workorders.records.signing import record_amend, record_sign
from orders.workorders.records.states import order_record_state, record_has_changed, records_open
from tests import build
from tests.workorders.records.uses import ENDED, SIGNED, batch_at, signature, site_in, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def stamp():
    return build.stamp(by=build.UserFactory(), at=SIGNED)


def test_it_owes_a_record_of_each_use_until_it_is_whole(stamp):
    application = use()
    assert [(row.state, row.due_on) for row in records_open()] == [("owed", date(2026, 7, 16))]
    first = record_sign(signature=signature(application, without=("requester",)), stamp=stamp)
    assert [(row.state, row.record) for row in records_open()] == [("incomplete", first)]
    record_amend(record=first, signature=signature(application), reason="Asked the owner", stamp=stamp)
    assert records_open() == []


def test_it_owes_nothing_for_a_mix_without_herbicide():
    dye = build.ProductFactory(code="dye", is_herbicide=False)
    use(batch_at(site_in(), product=dye))
    assert records_open() == []


def test_it_lists_what_is_due_first_first():
    use(jurisdiction="KY")
    ohio = build.ProductFactory(code="other")
    use(batch_at(site_in("OH"), product=ohio))
    assert [row.profile.jurisdiction for row in records_open()] == ["OH", "KY"]


def test_it_is_late_after_the_due_day_by_the_sites_clock():
    use(jurisdiction="OH")
    (row,) = records_open()
    assert not row.is_late(build.stamp(at=ENDED.replace(day=3, hour=3)))  # 23:00 on July 2 there
    assert row.is_late(build.stamp(at=ENDED.replace(day=3, hour=4)))


def test_it_tells_an_orders_state(stamp):
    bare = build.WorkOrderFactory()
    assert (order_record_state(bare).state, order_record_state(bare).due_on) == ("none needed", None)
    application = use()
    owed = order_record_state(application.order)
    assert (owed.state, owed.due_on) == ("incomplete", date(2026, 7, 16))
    record_sign(signature=signature(application), stamp=stamp)
    done = order_record_state(application.order)
    assert (done.state, done.is_open) == ("complete", False)


def test_it_counts_a_record_for_every_order_that_its_mix_served(stamp):
    first = use()
    second = use(first.batch, responsible=first.responsible)
    assert order_record_state(second.order).is_open
    record_sign(signature=signature(first), stamp=stamp)
    assert not order_record_state(second.order).is_open


def test_it_sees_that_the_facts_changed_after_the_signature(stamp):
    first = use()
    record = record_sign(signature=signature(first), stamp=stamp)
    assert not record_has_changed(record)
    later = use(first.batch, responsible=first.responsible, at=ENDED + timedelta(hours=1))
    assert record_has_changed(record)
    for struck in (first, later):
        use(first.batch, replaces=struck)
    assert record_has_changed(record)
