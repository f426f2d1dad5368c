from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.sites.models import Closure
from orders.sites.services import closure_add
from tests import build

pytestmark = pytest.mark.django_db


def test_it_closes_a_site_for_a_day(stamp):
    row = closure_add(
        stamp=stamp, site=build.SiteFactory(), first_day=date(2027, 5, 1), last_day=date(2027, 5, 1), why="Footrace"
    )
    assert Closure.objects.get() == row


def test_it_refuses_days_in_the_wrong_order(stamp):
    site = build.SiteFactory()
    with pytest.raises(Invalid) as refusal:
        closure_add(stamp=stamp, site=site, first_day=date(2027, 5, 2), last_day=date(2027, 5, 1), why="Footrace")
    assert [error.field for error in refusal.value.errors] == ["last_day"]
    assert not Closure.objects.exists()
