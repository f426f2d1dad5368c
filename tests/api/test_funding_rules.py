"""Funding rules, and an order split anew."""

import pytest

from orders.costs.models import FundingRule
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def body():
    shares = [{"fund": str(build.FundFactory(code="OPS").public_id), "share_e4": 10_000}]
    return {"name": "Shop", "from_day": "2027-01-01", "work_code": "shop", "shares": shares}


def test_it_adds_shows_changes_and_removes_a_rule(finance, body):
    made = finance.send("/api/funding-rules", body)
    assert made.status_code == 201, made.json()
    where = made.headers["Location"]
    shown = finance.get(where)
    assert (shown.json()["shares"][0]["fund_code"], shown.json()["work_code"]) == ("OPS", "shop")
    award = build.AwardFactory()
    shares = [{"fund": str(award.fund.public_id), "award": str(award.public_id), "share_e4": 10_000}]
    changed = finance.edit(where, {"name": "Yard", "shares": shares}, etag=shown.headers["ETag"])
    assert (changed.json()["name"], changed.json()["shares"][0]["award"]) == ("Yard", str(award.public_id))
    assert finance.send(f"{where}/remove", {"reason": "No shop any more"}).status_code == 200
    assert not FundingRule.objects.exists()


@pytest.mark.parametrize(
    ("more", "field"),
    [({"shares": []}, "shares"), ({"last_day": "2026-01-01"}, "last_day"), ({"color": "red"}, "color")],
)
def test_it_names_what_is_wrong(finance, body, more, field):
    reply = finance.send("/api/funding-rules", {**body, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_changes_nothing_that_somebody_else_changed(finance, body):
    where = finance.send("/api/funding-rules", body).headers["Location"]
    assert finance.edit(where, {"name": "Yard"}, etag='"stale"').status_code == 412


def test_it_filters(finance):
    rule = build.FundingRuleFactory(site=build.SiteFactory(), method_code="mow")
    build.FundingRuleFactory()
    for query in (f"site={rule.site.public_id}", "method_code=mow"):
        assert [row["id"] for row in finance.rows(f"/api/funding-rules?{query}")] == [str(rule.public_id)]


def test_it_splits_an_order_anew_with_a_reason(finance, scene):
    scene.issue()
    shares = [{"fund": str(build.FundFactory(code="STEW").public_id), "share_e4": 10_000}]
    refused = finance.send(f"{scene.address}/split-again", {"shares": shares})
    assert (refused.status_code, error_fields(refused)) == (400, ["reason"])
    reply = finance.send(f"{scene.address}/split-again", {"shares": shares, "reason": "The grant takes it"})
    assert [row["fund_code"] for row in reply.json()["results"]] == ["STEW"]
    assert scene.order.funding.get().fund.code == "STEW"


def test_it_funds_a_draft_by_the_rule_that_fits(desk, scene):
    where = f"{scene.address}/fund-by-rule"
    assert desk.send(where).status_code == 400
    rule = build.FundingRuleFactory(site=scene.order.site)
    build.FundingRuleShareFactory(rule=rule, fund=build.FundFactory(code="STEW"))
    assert [row["fund_code"] for row in desk.send(where).json()["results"]] == ["STEW"]
    scene.order.refresh_from_db()
    scene.issue()
    assert desk.send(where).status_code == 409
