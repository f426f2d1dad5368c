"""Miles through the app at the rate of their day.

Source: the IRS standard mileage rates of business use, 70 cents in 2025 and 72.5 cents in 2026; 42.6 mi at each are
computed (30.885 dollars, half up).
"""

from datetime import date

import pytest

from orders.costs.models import LedgerEntry
from orders.costs.services.measuring import trip_add
from tests import build

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("day", "cents"), [(date(2025, 12, 31), 2_982), (date(2026, 1, 1), 3_089)])
def test_it_drives_at_the_rate_of_the_day(day, cents):
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    build.PriceFactory(from_day=date(2025, 1, 1), price_e4=7_000)
    build.PriceFactory(from_day=date(2026, 1, 1), price_e4=7_250)
    trip_add(vehicle="Truck 4", work_date=day, miles_tenths=426, posted_on=day, stamp=build.stamp())
    assert LedgerEntry.objects.get().amount_cents == cents
