"""People who act in the same moment, on PostgreSQL: nothing is posted into a month that closes, and of two who confirm
one is told no."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from threading import Barrier

import pytest
from django.db import connection, connections

from orders.common.errors import Refusal
from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry, Period, PeriodStep
from orders.costs.services.periods import period_close_ask, period_close_confirm
from orders.costs.services.proof import proof_run
from tests import build
from tests.costs.weeks import Weeks

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite's tests share one connection"),
]

FEBRUARY = date(2027, 2, 1)
AFTER = datetime(2027, 4, 5, 15, tzinfo=UTC)


def _at_once(*acts):
    """Each in a thread with its own connection, all let go together; what came of each: None, or the refusal."""
    together = Barrier(len(acts))

    def run(act):
        try:
            together.wait()
            act()
        except Refusal as refusal:
            return refusal
        else:
            return None
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(acts)) as threads:
        return list(threads.map(run, acts))


def _asked(weeks):
    assert proof_run(AFTER).is_good
    return period_close_ask(month=FEBRUARY, stamp=Stamp(by=build.UserFactory(), at=AFTER))


@pytest.mark.parametrize("turn", range(2))
def test_it_posts_before_a_month_closes_or_into_the_next_one(turn):
    weeks = Weeks()
    person = weeks.person()
    closed, *waiting = [weeks.order() for _ in range(4)]
    weeks.close(closed, (person, 1, 480))
    period, second = _asked(weeks), build.UserFactory()
    came = _at_once(
        lambda: period_close_confirm(period=period, stamp=Stamp(by=second, at=AFTER)),
        *(lambda order=order: weeks.close(order, (person, 2, 300 + turn)) for order in waiting),
    )
    assert came[1:] == [None] * 3
    state = Period.objects.get().state
    assert (came[0] is None) == (state == "closed")
    posted = LedgerEntry.objects.filter(posting_month=FEBRUARY).count()
    if state == "closed":
        assert posted == Period.objects.get().rows_count
    else:
        assert came[0].code == "proof_missing"
        assert posted == LedgerEntry.objects.count()
    assert proof_run(AFTER).is_good


def test_it_closes_once_for_many_who_confirm():
    weeks = Weeks()
    weeks.close(weeks.order(), (weeks.person(), 1, 480))
    period, seconds = _asked(weeks), [build.UserFactory() for _ in range(4)]
    acts = [lambda by=by: period_close_confirm(period=period, stamp=Stamp(by=by, at=AFTER)) for by in seconds]
    came = _at_once(*acts)
    assert sorted(refusal.code for refusal in came if refusal) == ["wrong_state"] * 3
    assert PeriodStep.objects.filter(kind="close").count() == 1


def test_it_proves_one_state_while_others_post():
    weeks = Weeks()
    person = weeks.person()
    orders = [weeks.order() for _ in range(4)]
    proofs = []
    _at_once(
        *(lambda order=order: weeks.close(order, (person, 1, 120)) for order in orders),
        *(lambda: proofs.append(proof_run(AFTER)) for _ in range(4)),
    )
    assert [proof.is_good for proof in proofs] == [True] * 4
    assert proof_run(AFTER).is_good
