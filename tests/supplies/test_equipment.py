"""What crews share: how many there are, and what a method needs of it."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.estimates.selectors import equipment_needed
from orders.estimates.services import method_equipment_set
from orders.supplies.selectors import equipment_counts
from orders.supplies.services import equipment_add, equipment_edit
from tests import build

pytestmark = pytest.mark.django_db


def add(stamp, **more):
    return equipment_add(**{"code": "saw", "name": "Saw", "count": 3, "stamp": stamp, **more})


def test_it_counts_by_code(stamp):
    saw = add(stamp)
    equipment_edit(equipment=saw, values={"count": 2}, expected=1, stamp=stamp)
    assert equipment_counts() == {"saw": 2}
    with pytest.raises(VersionMismatch):
        equipment_edit(equipment=saw, values={"count": 1}, expected=1, stamp=stamp)


@pytest.mark.parametrize(
    ("more", "field"), [({"count": -1}, "count"), ({"code": "a b"}, "code"), ({"name": ""}, "name")]
)
def test_it_names_the_field_that_is_wrong(stamp, more, field):
    with pytest.raises(Invalid) as refused:
        add(stamp, **more)
    assert [error.field for error in refused.value.errors] == [field]


def test_its_code_stays(stamp):
    with pytest.raises(Invalid):
        equipment_edit(equipment=add(stamp), values={"code": "axe"}, expected=1, stamp=stamp)


def test_a_method_needs_what_was_said_last(stamp):
    method, saw, sprayer = build.MethodFactory(), add(stamp), add(stamp, code="sprayer")
    method_equipment_set(method=method, units={saw: 1, sprayer: 2}, stamp=stamp)
    assert equipment_needed() == {method.pk: {"saw": 1, "sprayer": 2}}
    method_equipment_set(method=method, units={sprayer: 1}, stamp=stamp, expected_version=2)
    assert equipment_needed() == {method.pk: {"sprayer": 1}}
    change = Change.objects.filter(verb="method_equipment_set").latest("id")
    assert (change.before, change.after) == ({"equipment": {"saw": 1, "sprayer": 2}}, {"equipment": {"sprayer": 1}})


@pytest.mark.parametrize("units", [0, -1, True, 1.5])
def test_a_method_needs_whole_units(stamp, units):
    with pytest.raises(Invalid):
        method_equipment_set(method=build.MethodFactory(), units={add(stamp): units}, stamp=stamp)
    assert equipment_needed() == {}


def test_the_same_said_again_records_nothing(stamp):
    method, saw = build.MethodFactory(), add(stamp)
    for _ in range(2):
        method_equipment_set(method=method, units={saw: 1}, stamp=stamp)
    assert Change.objects.filter(verb="method_equipment_set").count() == 1
