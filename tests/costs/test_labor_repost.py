"""A rate of pay that is set for days that are posted already."""

from datetime import UTC, date, datetime

import pytest
from django.db.models import Sum

from orders.costs.models import HeldCharge, LedgerEntry, WorkweekPremium
from orders.costs.services.pay_rates import pay_rate_set
from orders.costs.services.proof import proof_run
from tests import build
from tests.costs.weeks import SUNDAY, Weeks

pytestmark = pytest.mark.django_db
PROVED_AT = datetime(2027, 3, 2, tzinfo=UTC)


@pytest.fixture
def weeks():
    return Weeks()


def labor(person):
    rows = LedgerEntry.objects.filter(person=person, category="labor", book="cost")
    return rows.aggregate(total=Sum("amount_cents"))["total"]


def rate(weeks, person, rate_e4, from_day=SUNDAY):
    pay_rate_set(person=person, from_day=from_day, rate_e4=rate_e4, stamp=weeks.stamp())


def test_it_posts_the_days_anew_at_the_rate(weeks):
    person, other = weeks.person(), weeks.person("S. Burdock")
    order = weeks.order(prescriptions=3)
    weeks.close(order, (person, 1, 125), (other, 1, 125))
    assert labor(person) == 4_167  # 125 min at 20.00
    rate(weeks, person, 300_100)
    assert (labor(person), labor(other)) == (6_252, 4_167)  # 125 min at 30.01
    assert proof_run(at=PROVED_AT).is_good


def test_it_leaves_days_before_it_and_days_at_the_same_rate(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), (person, 1, 60))
    count = LedgerEntry.objects.count()
    rate(weeks, person, 300_000, from_day=date(2027, 2, 9))
    rate(weeks, person, 200_000)
    assert LedgerEntry.objects.count() == count


def test_it_figures_the_premium_anew(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), *((person, day, 600) for day in range(1, 6)))
    rate(weeks, person, 300_000)
    premium = WorkweekPremium.objects.latest("revision")
    assert (premium.revision, premium.premium_cents) == (2, 15_000)  # half of 30.00 for 10 h
    assert proof_run(at=PROVED_AT).is_good


def test_it_asks_anew_about_what_waits(weeks):
    person, fund = weeks.person(), build.FundFactory()
    award = build.AwardFactory(fund=fund, last_day=date(2026, 12, 31))
    weeks.close(weeks.order(shares=[(fund, award, 10_000)]), (person, 1, 60))
    rate(weeks, person, 300_000)
    held = HeldCharge.objects.get(state="waiting")
    assert (held.award, held.amount_cents) == (award, 3_000)
    assert proof_run(at=PROVED_AT).is_good


def test_it_says_no_rate_as_the_reason(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), (person, 1, 60))
    rate(weeks, person, 300_000)
    reasons = LedgerEntry.objects.filter(reverses__isnull=False).values_list("reason", flat=True).distinct()
    assert list(reasons) == [f"A rate of pay was set that holds from {SUNDAY}."]
