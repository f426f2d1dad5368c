"""A posting, a closing or a journal that is cut between any two statements leaves nothing half done."""

from datetime import UTC, date, datetime

import pytest
from django.db.models import Sum

from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.costs.models import HeldCharge, JournalBatch, LedgerEntry, Period, PeriodStep, StockValue, WorkweekPremium
from orders.costs.services.journal import journal_export
from orders.costs.services.periods import period_close_ask, period_close_confirm
from orders.costs.services.proof import proof_run
from orders.costs.words import ACCOUNT_WORDS
from orders.workorders.models import CloseOut, TimeEntry, WorkOrder
from tests import build
from tests.costs.weeks import Weeks
from tests.flow.test_interrupted import cut_everywhere

pytestmark = pytest.mark.django_db(transaction=True)

FEBRUARY = date(2027, 2, 1)
AFTER = datetime(2027, 4, 5, 15, tzinfo=UTC)
COUNTED = (CloseOut, TimeEntry, LedgerEntry, HeldCharge, WorkweekPremium, StockValue, PeriodStep, JournalBatch, Change)


def _facts():
    counts = tuple(model.objects.count() for model in COUNTED)
    orders = list(WorkOrder.objects.order_by("pk").values_list("state", "version"))
    periods = list(Period.objects.order_by("pk").values_list("state", "version", "rows_sha256"))
    return counts, orders, periods, LedgerEntry.objects.aggregate(cents=Sum("amount_cents"))["cents"]


def _weeks():
    """An order that is paid in part by an award that is over, and a person who works overtime on it."""
    weeks = Weeks()
    over = build.AwardFactory(fund=weeks.fund, last_day=date(2026, 12, 31))
    order = weeks.order(shares=[(weeks.fund, over, 4_000), (weeks.fund, None, 6_000)])
    person = weeks.person()
    return weeks, order, [(person, day, 600) for day in range(1, 6)]


def _good():
    return proof_run(AFTER).is_good


def test_it_posts_a_close_whole_or_not_at_all():
    weeks, order, times = _weeks()
    assert cut_everywhere(lambda: weeks.close(WorkOrder.objects.get(pk=order.pk), *times), facts=_facts) > 30
    assert HeldCharge.objects.filter(state="waiting").exists()
    assert WorkweekPremium.objects.get().premium_cents > 0
    assert _good()


def test_it_posts_an_amendment_whole_or_not_at_all():
    weeks, order, times = _weeks()
    weeks.close(order, *times)
    assert cut_everywhere(lambda: weeks.amend(order, *times[:4]), facts=_facts) > 30
    assert CloseOut.objects.count() == 2
    assert _good()


def test_it_closes_a_month_whole_or_not_at_all():
    weeks, order, times = _weeks()
    weeks.close(order, *times)
    assert _good()
    first, second = build.UserFactory(), build.UserFactory()

    def ask():
        period_close_ask(month=FEBRUARY, stamp=Stamp(by=first, at=AFTER))

    def confirm():
        period_close_confirm(period=Period.objects.get(), stamp=Stamp(by=second, at=AFTER))

    assert cut_everywhere(ask, facts=_facts) > 5
    assert cut_everywhere(confirm, facts=_facts) > 5
    assert (Period.objects.get().state, PeriodStep.objects.count()) == ("closed", 2)
    assert _good()


def test_it_makes_a_journal_whole_or_not_at_all():
    weeks, order, times = _weeks()
    weeks.close(order, *times)
    for account, _ in ACCOUNT_WORDS:
        build.AccountMappingFactory(account=account)
    assert cut_everywhere(lambda: journal_export(weeks.stamp(at=AFTER)), facts=_facts) > 5
    assert JournalBatch.objects.get().rows_count == LedgerEntry.objects.count()
