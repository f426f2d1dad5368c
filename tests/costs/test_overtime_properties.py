"""Whatever order close-outs, day sheets and amendments come in, what stands is what the final hours of the week say."""

from collections import Counter
from datetime import date

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.pay import Worked, pay_week
from orders.costs.models import LedgerEntry, PayPolicy, WorkweekPremium
from tests.costs.weeks import Weeks, cents, newest, standing

pytestmark = pytest.mark.django_db
RATES = (173_500, 246_250)
MINUTES = st.integers(1, 720)
TIMES = st.lists(st.tuples(st.sampled_from([0, 1]), st.integers(0, 6), MINUTES), min_size=1, max_size=8)
LINES = st.lists(st.tuples(st.sampled_from(["shop", "training", "leave", "drive"]), MINUTES), min_size=1, max_size=3)
STATED = st.tuples(st.just("order"), st.integers(0, 2), TIMES)
SHEET = st.tuples(st.just("sheet"), st.tuples(st.sampled_from([0, 1]), st.integers(0, 6)), LINES)


class Told:
    """What was said last of each order and each person's day, kept beside the program."""

    def __init__(self, spread):
        PayPolicy.objects.create(from_day=date(2027, 1, 1), spread=spread, source="Invented")
        self.weeks = Weeks()
        self.people = [self.weeks.person(f"Person {rate}", rate) for rate in RATES]
        self.orders = [self.weeks.order(prescriptions=count) for count in (1, 2, 1)]
        self.times, self.sheets = {}, {}

    def say(self, kind, which, said):
        if kind == "sheet":
            person, day = which
            self.weeks.sheet(self.people[person], day, *said)
            self.sheets[which] = said
            return
        kept = _within_a_day(said)
        verb = self.weeks.amend if which in self.times else self.weeks.close
        verb(self.orders[which], *((self.people[person], day, minutes) for person, day, minutes in kept))
        self.times[which] = kept

    def worked(self, person):
        found = [time for times in self.times.values() for time in times]
        found += [
            (who, day, minutes)
            for (who, day), lines in self.sheets.items()
            for code, minutes in lines
            if code != "leave"
        ]
        return [Worked("", minutes, RATES[who], day) for who, day, minutes in found if who == person]


def _within_a_day(times):
    """A close-out that tells of more than 24 hours of one person and day is refused."""
    kept: list[tuple[int, int, int]] = []
    so_far: Counter[tuple[int, int]] = Counter()
    for person, day, minutes in times:
        if so_far[person, day] + minutes <= 1440:
            so_far[person, day] += minutes
            kept.append((person, day, minutes))
    return kept


@settings(max_examples=12)
@given(st.lists(st.one_of(STATED, SHEET), min_size=2, max_size=7), st.sampled_from(["week", "overtime"]))
def test_it_stands_as_the_final_hours_say(steps, spread):
    with transaction.atomic():
        told = Told(spread)
        for step in steps:
            told.say(*step)
        for number, person in enumerate(told.people):
            _check_person(person, told.worked(number))
        _check_ledger()
        transaction.set_rollback(True)


def _check_person(person, worked):
    due = pay_week(worked).premium_cents
    rows = standing(category="premium", person=person)
    week = newest(person)
    assert cents(rows) == due == (week.premium_cents if week else 0)
    assert {row.revision for row in rows} <= {week.revision if week else 0}
    by_order: Counter[int | None] = Counter()
    for row in rows:
        by_order[row.order_id] += row.amount_cents
    assert sum(by_order.values()) == due
    parts = [line for line in week.lines if line["kind"] == "part"] if week else []
    assert sum(part["cents"] for part in parts) == due
    days = {part["day"] for part in parts if part["cents"]}
    assert {str(row.work_date) for row in rows} <= days


def _check_ledger():
    """Each source and revision once, each row taken back once at most, and what stands of a premium is the newest."""
    fields = "source_kind", "source_id", "revision", "prescription", "fund", "award", "book"
    posted = Counter(LedgerEntry.objects.filter(reverses__isnull=True).values_list(*fields))
    assert set(posted.values()) <= {1}
    taken_back = Counter(LedgerEntry.objects.filter(reverses__isnull=False).values_list("reverses", flat=True))
    assert set(taken_back.values()) <= {1}
    total = sum(newest(premium.person).premium_cents for premium in WorkweekPremium.objects.filter(revision=1))
    assert cents(LedgerEntry.objects.filter(category="premium")) == total
