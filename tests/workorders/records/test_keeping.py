"""What keeps a record beyond its term."""

import pytest

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.workorders.records.keeping import record_hold_lift, record_hold_place
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def stamp():
    return build.stamp(by=build.UserFactory(roles=["pesticide_supervisor"]), reason="Claim settled")


def test_it_holds_a_record_until_the_hold_is_lifted(stamp):
    record = build.ApplicationRecordFactory()
    hold = record_hold_place(record=record, why="An audit", stamp=stamp)
    assert (hold.why, hold.placed_by, hold.lifted_at) == ("An audit", stamp.by, None)
    assert record_hold_lift(hold=hold, stamp=stamp).lifted_at == stamp.at
    verbs = Change.objects.filter(entity_id=record.public_id).values_list("verb", "reason")
    assert list(verbs) == [("record_hold_place", stamp.reason), ("record_hold_lift", "Claim settled")]


def test_it_holds_with_a_reason_and_lifts_once(stamp):
    record = build.ApplicationRecordFactory()
    with pytest.raises(Invalid):
        record_hold_place(record=record, why=" ", stamp=stamp)
    hold = record_hold_place(record=record, why="An audit", stamp=stamp)
    record_hold_lift(hold=hold, stamp=stamp)
    with pytest.raises(WrongState):
        record_hold_lift(hold=hold, stamp=stamp)
