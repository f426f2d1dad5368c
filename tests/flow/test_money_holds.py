"""Random seasons: whatever is closed, amended, voided, confirmed on day sheets, and whichever months two people close
and open again in between, the proof of the ledger stays good and every cut of the report sums to it."""

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import corrections
from orders.common.errors import Refusal
from orders.common.stamp import Stamp
from orders.costs.models import HeldCharge, LedgerEntry, Period
from orders.costs.services.periods import (
    period_close_ask,
    period_close_confirm,
    period_reopen_ask,
    period_reopen_confirm,
    period_withdraw,
)
from orders.costs.services.proof import proof_run
from orders.reports.costs import CUTS, cost_report
from orders.workorders.models import WorkOrder
from tests import build
from tests.costs.weeks import Weeks

pytestmark = pytest.mark.django_db

MONTHS = (date(2027, 2, 1), date(2027, 3, 1), date(2027, 4, 1))
DAYS = [datetime(2027, month, day, 20, tzinfo=UTC) for month in (2, 3, 4, 5) for day in (15, 28)]


class Season:
    """Three orders, two paid people and a volunteer, a fund and an award that is over; two people in finance."""

    def __init__(self) -> None:
        self.weeks = Weeks()
        self.people = [self.weeks.person("R. Teasel"), self.weeks.person("P. Sedge", rate_e4=233_333)]
        self.people.append(self.weeks.person("V. Rush", person_type="volunteer", rate_e4=None))
        self.first, self.second = build.UserFactory(roles=["finance"]), build.UserFactory(roles=["finance"])
        over = build.AwardFactory(fund=self.weeks.fund, last_day=date(2026, 12, 31))
        thirds = [(self.weeks.fund, None, 3_333), (build.FundFactory(code="STEW"), None, 6_667)]
        waits = [(self.weeks.fund, over, 4_000), (self.weeks.fund, None, 6_000)]
        shares = (thirds, waits, thirds)
        self.orders = [self.weeks.order(prescriptions=n, shares=paid) for n, paid in enumerate(shares, start=1)]

    def order(self, number: int) -> WorkOrder:
        return WorkOrder.objects.get(pk=self.orders[number].pk)

    def times(self, minutes: int) -> list[tuple[object, int, int]]:
        return [(person, day, minutes + 7 * day) for person in self.people for day in (1, 2)]

    def stamp(self, by: object, at: datetime, reason: str = "Set right.") -> Stamp:
        return Stamp(by=by, at=at, reason=reason)  # type: ignore[arg-type]


def _close(season: Season, at: datetime, number: int, minutes: int) -> None:
    season.weeks.close(season.order(number % 3), *season.times(minutes), at=at)


def _amend(season: Season, at: datetime, number: int, minutes: int) -> None:
    season.weeks.amend(season.order(number % 3), *season.times(minutes), at=at)


def _void(season: Season, at: datetime, number: int, minutes: int) -> None:
    corrections.void_order(order=season.order(number % 3), stamp=season.stamp(season.weeks.lead, at))


def _restore(season: Season, at: datetime, number: int, minutes: int) -> None:
    corrections.restore_order(order=season.order(number % 3), stamp=season.stamp(season.weeks.lead, at))


def _sheet(season: Season, at: datetime, number: int, minutes: int) -> None:
    person = season.people[number % 2]
    season.weeks.sheet(person, 4, ("shop", minutes), ("training", 90), at=at)


def _ask(season: Season, at: datetime, number: int, minutes: int) -> None:
    proof_run(at)
    period_close_ask(month=MONTHS[number % 3], stamp=season.stamp(season.first, at))


def _period(number: int) -> Period:
    found = Period.objects.filter(first_day=MONTHS[number % 3]).first()
    if found is None:
        raise Refusal("Nobody has asked.")
    return found


def _confirm(season: Season, at: datetime, number: int, minutes: int) -> None:
    proof_run(at)
    period_close_confirm(period=_period(number), stamp=season.stamp(season.second, at))


def _shut(season: Season, at: datetime, number: int, minutes: int) -> None:
    _ask(season, at, number, minutes)
    _confirm(season, at, number, minutes)


def _reopen(season: Season, at: datetime, number: int, minutes: int) -> None:
    period_reopen_ask(period=_period(number), stamp=season.stamp(season.first, at))
    if minutes % 2:
        period_reopen_confirm(period=_period(number), stamp=season.stamp(season.second, at))


def _withdraw(season: Season, at: datetime, number: int, minutes: int) -> None:
    period_withdraw(period=_period(number), stamp=season.stamp(season.second, at))


Act = Callable[[Season, datetime, int, int], None]
ACTS: list[Act] = [_close, _close, _amend, _amend, _void, _restore, _sheet, _shut, _shut, _ask, _confirm, _reopen]
ACTS.append(_withdraw)
STEPS = st.lists(
    st.tuples(st.sampled_from(ACTS), st.sampled_from(DAYS), st.integers(0, 5), st.integers(1, 660)),
    min_size=4,
    max_size=12,
)


def _held(season: Season) -> None:
    proof = proof_run(DAYS[-1])
    assert proof.is_good, [result for result in proof.checks if not result["good"]]
    spent = LedgerEntry.objects.filter(book="cost").aggregate(cents=Sum("amount_cents"))["cents"] or 0
    for cut in CUTS:
        report = cost_report(actor=season.first, by=cut)
        assert report.total.actual_cents == sum(row.actual_cents for row in report.rows) == spent


def test_it_holds_in_any_order():
    season, seen = Season(), set()

    @settings(max_examples=15, suppress_health_check=list(HealthCheck))
    @given(steps=STEPS)
    def holds(steps):
        with transaction.atomic():
            for act, at, number, minutes in steps:
                try:
                    with transaction.atomic():
                        act(season, at, number, minutes)
                except Refusal:
                    continue
                seen.add(act)
            _held(season)
            transaction.set_rollback(True)

    holds()
    assert seen >= {_close, _sheet, _shut}


def test_it_holds_over_months_that_are_closed_and_reopened():
    season = Season()
    at = iter(DAYS)
    _close(season, next(at), 0, 480)
    _close(season, next(at), 1, 660)
    assert HeldCharge.objects.filter(state="waiting").exists()
    _shut(season, next(at), 0, 0)
    _amend(season, next(at), 0, 500)
    _sheet(season, next(at), 0, 120)
    _shut(season, next(at), 1, 0)
    _amend(season, next(at), 1, 333)
    _reopen(season, next(at), 1, 1)
    _held(season)
    months = set(LedgerEntry.objects.values_list("posting_month", flat=True))
    assert len(months) >= 3
