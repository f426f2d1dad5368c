"""A month is closed and reopened by two people, on a good proof, in order; while it is closed nothing posts into it."""

from dataclasses import replace

import pytest

from orders import corrections
from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.common.models import Change
from orders.costs.digest import balances, rows_digest
from orders.costs.models import LedgerEntry, Period, Proof
from orders.costs.services.periods import (
    EarlierMonthOpen,
    ProofMissing,
    SecondPersonMissing,
    period_close_ask,
    period_close_confirm,
    period_reopen_ask,
    period_reopen_confirm,
    period_withdraw,
    posting_month_for,
)
from orders.costs.services.proof import proof_run
from tests import build
from tests.costs.month_end import AFTER, FEBRUARY, MARCH, OUTSIDER, office_build, posted_again, the_order
from tests.flow.world import WORK_DAY, statement

pytestmark = pytest.mark.django_db


@pytest.fixture
def office():
    return office_build()


def _asked(office):
    proof_run(AFTER)
    return period_close_ask(month=FEBRUARY, stamp=office.stamp())


def test_it_closes_by_two_people_and_keeps_what_the_month_came_to(office):
    period = office.closed()
    rows = LedgerEntry.objects.filter(posting_month=FEBRUARY)
    kept = Period.objects.get()
    assert (kept.state, kept.rows_count, kept.rows_sha256) == ("closed", rows.count(), rows_digest(rows).sha256)
    assert kept.balances == balances(rows)
    assert sum(kept.balances.values()) == 0 < kept.balances["cost-labor"]
    assert [(step.kind, step.by) for step in period.steps.all()] == [
        ("ask_close", office.first),
        ("close", office.second),
    ]


def test_it_tells_no_balance_in_the_feed(office):
    office.closed()
    told = str(list(Change.objects.filter(entity="period").values_list("before", "after")))
    assert "cost-labor" not in told


def test_it_refuses_the_same_person(office):
    with pytest.raises(SecondPersonMissing):
        period_close_confirm(period=_asked(office), stamp=office.stamp())
    assert Period.objects.get().state == "closing"


def test_it_takes_a_named_outsider_where_there_is_one_desk(office):
    period = period_close_confirm(period=_asked(office), outsider=OUTSIDER, stamp=office.stamp())
    step = period.steps.latest("id")
    assert (step.outside_name, step.outside_organization, step.outside_how) == tuple(vars(OUTSIDER).values())


@pytest.mark.parametrize("field", ["name", "organization", "how"])
def test_it_needs_all_three_facts_of_an_outsider(office, field):
    with pytest.raises(Invalid) as refused:
        period_close_confirm(period=_asked(office), outsider=replace(OUTSIDER, **{field: " "}), stamp=office.stamp())
    assert [error.field for error in refused.value.errors] == [f"outsider.{field}"]


@pytest.mark.parametrize("named", ["their login", "their own name", "somebody else's name"])
def test_it_takes_nobody_inside_for_an_outsider(office, named):
    build.PersonFactory(name="Invented  Sedge", user=office.first)
    names = {"their login": office.first.username.upper(), "their own name": " invented sedge "}
    outsider = replace(OUTSIDER, name=names.get(named, office.second.username))
    with pytest.raises(Invalid) as refused:
        period_close_confirm(period=_asked(office), outsider=outsider, stamp=office.stamp())
    assert [error.field for error in refused.value.errors] == ["outsider.name"]
    assert Period.objects.get().state == "closing"


def test_it_needs_a_proof_of_the_newest_row(office):
    with pytest.raises(ProofMissing):
        period_close_ask(month=FEBRUARY, stamp=office.stamp())
    period = _asked(office)
    corrections.amend_close_out(
        order=the_order(),
        statement=statement(the_order(), minutes=200),
        stamp=office.world.stamp(office.world.lead, WORK_DAY, "Miscounted."),
    )
    with pytest.raises(ProofMissing):
        period_close_confirm(period=period, stamp=office.stamp(office.second))
    proof_run(AFTER)
    assert period_close_confirm(period=period, stamp=office.stamp(office.second)).state == "closed"


def test_it_refuses_after_a_bad_proof(office):
    good = proof_run(AFTER)
    build.ProofFactory(is_good=False, last_row=good.last_row)
    with pytest.raises(ProofMissing):
        period_close_ask(month=FEBRUARY, stamp=office.stamp())
    assert Proof.objects.count() == 2


def test_it_closes_earlier_months_first(office):
    posted_again(LedgerEntry.objects.earliest("id"), posting_month=MARCH)
    with pytest.raises(EarlierMonthOpen, match="February 2027"):
        period_close_ask(month=MARCH, stamp=office.stamp())


def test_it_refuses_a_month_that_is_not_over(office):
    with pytest.raises(WrongState, match="not over"):
        period_close_ask(month=FEBRUARY, stamp=office.stamp(at=WORK_DAY))


def test_it_posts_into_the_next_open_month(office):
    office.closed()
    before = rows_digest(LedgerEntry.objects.filter(posting_month=FEBRUARY))
    corrections.amend_close_out(
        order=the_order(),
        statement=statement(the_order(), minutes=200),
        stamp=office.world.stamp(office.world.lead, WORK_DAY, "Miscounted."),
    )
    assert rows_digest(LedgerEntry.objects.filter(posting_month=FEBRUARY)) == before
    assert set(LedgerEntry.objects.filter(reason="Miscounted.").values_list("posting_month", flat=True)) == {MARCH}
    assert posting_month_for(FEBRUARY) == MARCH
    assert proof_run(AFTER).is_good


def test_it_reopens_by_two_people_with_a_reason(office):
    period = office.closed()
    with pytest.raises(Invalid):
        period_reopen_ask(period=period, stamp=office.stamp())
    period_reopen_ask(period=period, stamp=office.stamp(reason="A bill came late."))
    assert posting_month_for(FEBRUARY) == MARCH
    with pytest.raises(SecondPersonMissing):
        period_reopen_confirm(period=period, stamp=office.stamp())
    period = period_reopen_confirm(period=period, stamp=office.stamp(office.second))
    assert (period.state, period.rows_count, period.balances, period.closed_at) == ("open", 0, {}, None)
    assert posting_month_for(FEBRUARY) == FEBRUARY


def test_it_reopens_the_last_month_first(office):
    february = office.closed()
    office.closed(MARCH)
    with pytest.raises(EarlierMonthOpen):
        period_reopen_ask(period=february, stamp=office.stamp(reason="Late."))


def test_it_withdraws(office):
    period = period_withdraw(period=_asked(office), stamp=office.stamp())
    assert period.state == "open"
    with pytest.raises(WrongState):
        period_withdraw(period=period, stamp=office.stamp())
    closed = office.closed()
    period_reopen_ask(period=closed, stamp=office.stamp(reason="Late."))
    assert period_withdraw(period=closed, stamp=office.stamp()).state == "closed"


def test_it_refuses_a_version_that_was_read_before(office):
    period = _asked(office)
    with pytest.raises(VersionMismatch):
        period_close_confirm(period=period, expected=period.version - 1, stamp=office.stamp(office.second))
