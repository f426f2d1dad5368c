"""Funds and awards."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.costs.models import Award, Fund
from orders.costs.services import award_add, fund_add
from tests import build

pytestmark = pytest.mark.django_db


def test_it_adds_a_fund(stamp):
    fund = fund_add(stamp=stamp, code="OPS", name="General operations", budget_cents=14_500_000)
    assert (Fund.objects.get(), fund.is_suspense) == (fund, False)


def test_it_has_one_suspense_fund(stamp):
    fund_add(stamp=stamp, code="SUSP", name="Suspense", is_suspense=True)
    with pytest.raises(Invalid) as refusal:
        fund_add(stamp=stamp, code="SUSP2", name="Second suspense", is_suspense=True)
    assert [error.field for error in refusal.value.errors] == ["is_suspense"]


@pytest.mark.parametrize(("field", "wrong"), [("budget_cents", -1), ("budget_cents", 10.5), ("code", "")])
def test_it_refuses_a_fund_that_is_none(stamp, field, wrong):
    with pytest.raises(Invalid) as refusal:
        fund_add(**{"stamp": stamp, "code": "OPS", "name": "General operations"} | {field: wrong})
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Fund.objects.exists()


def award_facts(**changed):
    return {
        "fund": build.FundFactory(),
        "code": "KR-1",
        "name": "Restoration",
        "first_day": date(2026, 7, 1),
        "last_day": date(2027, 9, 30),
        "ceiling_cents": 4_800_000,
        **changed,
    }


def test_it_adds_an_award(stamp):
    award = award_add(stamp=stamp, **award_facts())
    assert Award.objects.get() == award


@pytest.mark.parametrize(("field", "wrong"), [("last_day", date(2026, 6, 30)), ("ceiling_cents", -1), ("name", "")])
def test_it_refuses_an_award_that_is_none(stamp, field, wrong):
    with pytest.raises(Invalid) as refusal:
        award_add(stamp=stamp, **award_facts(**{field: wrong}))
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Award.objects.exists()


def test_it_refuses_an_award_of_the_suspense_fund(stamp):
    with pytest.raises(Invalid) as refusal:
        award_add(stamp=stamp, **award_facts(fund=build.FundFactory(is_suspense=True)))
    assert [error.field for error in refusal.value.errors] == ["fund"]
