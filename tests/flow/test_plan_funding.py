"""Who pays the orders of an accepted plan: the funds of their work, unless somebody says otherwise."""

from datetime import date

import pytest

from orders import flow
from orders.costs.services.entries import Payer
from tests import build
from tests.flow.world import world_build
from tests.planning.small import MONDAY, accepted, asked, planned

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def _fund(world, code, **award):
    fund = build.FundFactory(code=code)
    if award:
        build.AwardFactory(fund=fund, code=f"{code}-1", **award)
    return build.SeasonFundFactory(season=world.season, code=code, budget_cents=10_000_000)


def _funding(world):
    (order,) = accepted(world)
    return [(row.fund.code, row.award and row.award.code, row.share_e4) for row in order.funding.order_by("fund__code")]


def test_it_shares_an_order_by_the_planned_hours_of_each_funds_work(world):
    grant, steward = _fund(world, "GRANT"), _fund(world, "STEW")
    asked(world, "A", 0.2, fund=grant, last_day=MONDAY)
    asked(world, "B", 0.1, fund=steward, last_day=MONDAY)
    assert _funding(world) == [("GRANT", None, 6_667), ("STEW", None, 3_333)]


def test_it_charges_the_award_that_holds_on_all_of_the_orders_days(world):
    fund = _fund(world, "GRANT", first_day=date(2027, 1, 1), last_day=date(2027, 12, 31))
    asked(world, "A", 0.2, fund=fund)
    assert _funding(world) == [("GRANT", "GRANT-1", 10_000)]


def test_it_leaves_an_order_to_a_person_where_no_award_holds(world):
    fund = _fund(world, "GRANT", first_day=date(2026, 1, 1), last_day=MONDAY.replace(month=2))
    asked(world, "A", 0.2, fund=fund)
    assert _funding(world) == []


def test_it_leaves_an_order_to_a_person_where_some_of_its_work_has_no_fund(world):
    asked(world, "A", 0.2, fund=_fund(world, "GRANT"), last_day=MONDAY)
    asked(world, "B", 0.1, last_day=MONDAY)
    assert _funding(world) == []


def test_it_leaves_an_order_to_a_person_where_finance_knows_no_such_fund(world):
    asked(world, "A", 0.2, fund=build.SeasonFundFactory(season=world.season, code="OTHER", budget_cents=10_000_000))
    assert _funding(world) == []


def test_it_lets_a_person_say_who_pays(world):
    asked(world, "A", 0.2, fund=_fund(world, "GRANT"))
    share = Payer(fund=world.fund, award=None, share_e4=10_000)
    (order,) = flow.accept_plan(run=planned(world), funding=[share], stamp=world.stamp())
    assert [row.fund for row in order.funding.all()] == [world.fund]
