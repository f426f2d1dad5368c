"""The program's own rules for work outside."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.field.models import FieldPolicy
from orders.field.services.policy import field_policy_set

pytestmark = pytest.mark.django_db


def test_it_changes_a_rule(stamp):
    policy = field_policy_set(values={"overdue_after_minutes": 45}, expected=1, stamp=stamp)
    assert (policy.overdue_after_minutes, policy.version, FieldPolicy.objects.count()) == (45, 2, 1)


def test_it_never_goes_below_eighteen(stamp):
    with pytest.raises(Invalid):
        field_policy_set(values={"least_age": 17}, expected=1, stamp=stamp)


@pytest.mark.parametrize("values", [{"version": 7}, {"split_rule": "by size"}])
def test_it_knows_its_rules(stamp, values):
    with pytest.raises(Invalid):
        field_policy_set(values=values, expected=1, stamp=stamp)


def test_it_builds_on_the_version_that_was_read(stamp):
    field_policy_set(values={"lone_saw_work": True}, expected=1, stamp=stamp)
    with pytest.raises(VersionMismatch):
        field_policy_set(values={"lone_saw_work": False}, expected=1, stamp=stamp)
