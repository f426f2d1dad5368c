"""The time of volunteers and loaned staff is worth something to an award, in a book of its own."""

from datetime import date

import pytest

from orders.costs.models import LedgerEntry, MatchRate
from tests import build
from tests.costs.weeks import MONDAY, Weeks, cents, standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def weeks():
    return Weeks()


def _rate(weeks, person_type="volunteer", **said):
    told = {"from_day": date(2026, 1, 1), "rate_e4": 172_500, "fringe_e4": 900, "source": "Own seasonal grade", **said}
    return MatchRate.objects.create(person_type=person_type, role=weeks.role, **told)


@pytest.mark.parametrize("person_type", ["volunteer", "loaned"])
def test_it_is_worth_rate_and_fringe(weeks, person_type):
    _rate(weeks, person_type)
    person = weeks.person(person_type=person_type)
    weeks.close(weeks.order(), (person, 1, 390))
    [row] = standing(book="match")
    # 6.5 h x $17.25 x 1.09 = $122.2163 (2 CFR 200.306(e))
    assert (row.amount_cents, row.quantity, row.rate_e4) == (12_222, 390, 172_500)
    assert (row.debit, row.credit, row.source_kind) == ("match-used", "match-given", "time_match")
    assert (row.person, row.person_type, row.work_date) == (person, person_type, MONDAY)


def test_it_costs_nothing(weeks):
    _rate(weeks)
    person = weeks.person(person_type="volunteer")
    weeks.close(weeks.order(), (person, 1, 390))
    assert cents(LedgerEntry.objects.filter(book="cost", category="labor")) == 0
    assert sum(row.quantity for row in LedgerEntry.objects.filter(book="cost", category="labor")) == 390


def test_it_goes_to_the_awards_of_the_order(weeks):
    _rate(weeks)
    award = build.AwardFactory()
    order = weeks.order(shares=[(award.fund, award, 6_000), (weeks.fund, None, 4_000)])
    weeks.close(order, (weeks.person(person_type="volunteer"), 1, 390))
    assert {(row.award, row.amount_cents) for row in standing(book="match")} == {(award, 7_333), (None, 4_889)}


def test_it_takes_the_newest_rate_that_has_begun(weeks):
    _rate(weeks)
    _rate(weeks, from_day=date(2027, 2, 1), rate_e4=200_000, fringe_e4=0)
    _rate(weeks, from_day=date(2027, 3, 1), rate_e4=900_000)
    weeks.close(weeks.order(), (weeks.person(person_type="volunteer"), 1, 60))
    assert cents(standing(book="match")) == 2_000


def test_it_makes_no_row_without_a_rate(weeks):
    _rate(weeks, "loaned")
    weeks.close(weeks.order(), (weeks.person(person_type="volunteer"), 1, 60))
    assert not LedgerEntry.objects.filter(book="match").exists()


def test_it_makes_no_row_for_people_who_are_paid(weeks):
    _rate(weeks)
    weeks.close(weeks.order(), (weeks.person(), 1, 60))
    assert not LedgerEntry.objects.filter(book="match").exists()


def test_it_goes_back_with_an_amendment(weeks):
    _rate(weeks)
    person, order = weeks.person(person_type="volunteer"), weeks.order()
    weeks.close(order, (person, 1, 390))
    weeks.amend(order, (person, 1, 60))
    [row] = standing(book="match")
    assert (row.quantity, row.revision, row.amount_cents) == (60, 2, 1_880)
    assert cents(LedgerEntry.objects.filter(book="match")) == 1_880
