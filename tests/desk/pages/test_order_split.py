"""Who pays one order, said and said anew on its page."""

import pytest

from orders import flow
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from tests import build
from tests.flow.world import BEGIN, drafted, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    return client


@pytest.fixture
def order():
    return drafted(world_build())


def said(order, *shares, **more):
    named = {
        f"{name}_{number}": value
        for number, (fund, percent) in enumerate(shares, start=1)
        for name, value in (("payer", str(fund.public_id)), ("share", percent))
    }
    return {"version": order.version, **named, **more}


def address(order):
    return f"/money/orders/{order.public_id}/split/"


def test_it_splits_a_draft(finance, order):
    city, river = build.FundFactory(), build.FundFactory()
    reply = finance.post(address(order), said(order, (city, "60"), (river, "40")))
    assert reply.status_code == 302
    assert [(row.fund, row.share_e4) for row in order.funding.order_by("id")] == [(city, 6_000), (river, 4_000)]


def test_it_names_what_does_not_add_up(finance, order):
    fund = build.FundFactory()
    page = finance.post(address(order), said(order, (fund, "60")))
    assert page.status_code == 400
    assert "add up to 100%" in page.text


def closed(order):
    stamp = _stamp()
    order_fund(order=order, shares=[Payer(build.FundFactory(), None, 10_000)], stamp=stamp)
    flow.issue_order(order=order, stamp=stamp)
    flow.close_order(order=order, statement=statement(order), stamp=stamp)
    order.refresh_from_db()


def _stamp():
    return Stamp(by=User.objects.first(), at=BEGIN)


def test_it_moves_what_a_closed_order_cost(finance, order):
    closed(order)
    before = _sum()
    river = build.FundFactory()
    assert "Why" in finance.get(address(order)).text
    reply = finance.post(address(order), said(order, (river, "100"), reason="The river grant came."))
    assert reply.status_code == 302
    assert _sum() == before == _sum(fund=river) > 0


def _sum(**where):
    rows = LedgerEntry.objects.filter(order__isnull=False, book="cost", **where)
    return sum(rows.values_list("amount_cents", flat=True))


def test_it_opens_to_finance_alone(client, order):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert client.get(address(order)).status_code == 403
