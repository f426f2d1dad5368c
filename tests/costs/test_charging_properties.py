"""Whatever is charged, amended and settled, in any order: an award's rows never pass its ceiling, each cent of each
cost is with some fund, and each source stands once."""

from datetime import date
from uuid import UUID, uuid5

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from orders.common.errors import Invalid
from orders.costs.models import Award, Fund, HeldCharge, LedgerEntry
from orders.costs.services.entries import Payer, entries_reverse
from orders.costs.services.held import held_charge_settle
from tests import build
from tests.costs.charges import TODAY, charged_to, spent, standing, told

pytestmark = pytest.mark.django_db
NAMES = UUID(int=7)
SOURCES = [uuid5(NAMES, str(number)) for number in range(3)]
CEILINGS = (0, 90, 250)
DAYS = (date(2026, 6, 30), TODAY)

amend = st.tuples(st.just("amend"), st.sampled_from(SOURCES), st.integers(0, 400), st.sampled_from(DAYS))
settle = st.tuples(st.just("settle"), st.integers(0, 5), st.integers(0, 3), st.just(TODAY))
shares = st.lists(st.integers(1, 9), min_size=3, max_size=3)


@settings(max_examples=40)
@given(steps=st.lists(st.one_of(amend, settle), max_size=12), weights=shares)
def test_it_keeps_every_cent_and_every_ceiling(steps, weights):
    with transaction.atomic():
        _played(steps, weights)
        transaction.set_rollback(True)  # each example begins with nothing


def _played(steps, weights):
    build.FundFactory(is_suspense=True, budget_cents=None)
    fund = build.FundFactory(budget_cents=None)
    awards = [build.AwardFactory(fund=fund, ceiling_cents=ceiling) for ceiling in CEILINGS]
    whole = sum(weights)
    parts = [10_000 * weight // whole for weight in weights]
    parts[0] += 10_000 - sum(parts)
    payers = [Payer(fund, award, part) for award, part in zip(awards, parts, strict=True)]
    facts: dict[UUID, tuple[int, int]] = {}
    for kind, first, second, day in steps:
        if kind == "amend":
            revision = facts.get(first, (0, 0))[0] + 1
            entries_reverse(standing(first), posted_on=TODAY, stamp=told())
            charged_to(payers, second, on=day, source=first, revision=revision)
            facts[first] = revision, second
        else:
            _settled(first, [None, *awards][second], fund)
        _checked(facts)


def _settled(which: int, award: Award | None, fund: Fund) -> None:
    waiting = list(HeldCharge.objects.filter(state="waiting").order_by("id"))
    if waiting:
        held = waiting[which % len(waiting)]
        try:
            held_charge_settle(held=held, fund=fund, award=award, posted_on=TODAY, stamp=told())
        except Invalid:
            assert award is not None  # a fund without a limit takes everything


def _checked(facts: dict[UUID, tuple[int, int]]) -> None:
    for award in Award.objects.all():
        assert spent(award=award) <= award.ceiling_cents
    for source, (revision, cents) in facts.items():
        rows = standing(source)
        assert {row.revision for row in rows} <= {revision}
        assert sum(row.amount_cents for row in rows) == cents == spent(source_id=source)
    suspended = LedgerEntry.objects.filter(fund__is_suspense=True)
    waits = HeldCharge.objects.filter(state="waiting")
    assert sum(row.amount_cents for row in suspended) == sum(held.amount_cents for held in waits)
    assert not suspended.filter(award__isnull=False).exists()
