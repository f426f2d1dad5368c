"""The desk found them safe."""

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.field.services.checkins import check_in_found
from tests import build

pytestmark = pytest.mark.django_db


def test_it_says_how_they_were_found(stamp):
    check_in = build.CheckInFactory()
    step = check_in_found(check_in=check_in, note=" Called the lead ", stamp=stamp)
    assert (step.kind, step.note, step.at, step.by) == ("found", "Called the lead", stamp.at, stamp.by)
    assert Change.objects.get().verb == "check_in_found"


def test_it_wants_to_know_how(stamp):
    with pytest.raises(Invalid):
        check_in_found(check_in=build.CheckInFactory(), note=" ", stamp=stamp)
