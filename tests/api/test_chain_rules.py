"""What comes after a method: rules listed, added, edited; and the later steps of a prescription."""

import pytest

from orders.planning.models import ChainRule
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def body():
    for code in ("cut", "spot-foliar"):
        build.MethodFactory(code=code)
    lags = {"least_days": 30, "most_days": 120}
    return {"code": "own", "after": "cut", "purpose": "regrowth", "method": "spot-foliar", "source": "ours", **lags}


def test_it_adds_a_rule_and_says_where_it_is(desk, body):
    reply = desk.send("/api/chain-rules", {**body, "share": 0.5})
    shown = reply.json()
    assert reply.status_code == 201, shown
    assert (shown["after"]["code"], shown["method"]["code"], shown["share"]) == ("cut", "spot-foliar", 0.5)
    assert (shown["species"], shown["after_purpose"], shown["is_active"]) == ("any", "", True)
    assert desk.get(reply.headers["Location"]).json() == shown


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"most_days": 10}, "most_days"),
        ({"share": 0}, "share"),
        ({"purpose": "hope"}, "purpose"),
        ({"source": ""}, "source"),
        ({"least_days": -1}, "least_days"),
    ],
)
def test_it_names_what_is_wrong(desk, body, more, field):
    reply = desk.send("/api/chain-rules", {**body, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert not ChainRule.objects.filter(code="own").exists()


def test_it_knows_no_other_method(desk, body):
    assert desk.send("/api/chain-rules", {**body, "method": "wishing"}).status_code == 404


def test_it_refuses_rules_that_lead_back(desk, body):
    desk.send("/api/chain-rules", {**body, "purpose": "revisit", "after_purpose": "again"})
    back = {"code": "back", "after": "spot-foliar", "after_purpose": "revisit", "purpose": "again", "method": "cut"}
    reply = desk.send("/api/chain-rules", {**body, **back})
    assert (reply.status_code, error_fields(reply)) == (400, ["method"])


def test_it_edits_what_was_read(desk):
    rule = build.ChainRuleFactory()
    address = f"/api/chain-rules/{rule.public_id}"
    etag = desk.get(address).headers["ETag"]
    reply = desk.edit(address, {"least_days": 45, "is_active": False}, etag=etag)
    assert (reply.status_code, reply.json()["least_days"], reply.json()["is_active"]) == (200, 45, False)
    assert desk.edit(address, {"least_days": 50}, etag=etag).status_code == 412


def test_it_filters(desk):
    rule = build.ChainRuleFactory()
    build.ChainRuleFactory(after__code="dig", purpose="check", method__code="monitor", is_active=False)
    own = f"after={rule.after.code}", f"method={rule.method.code}", "purpose=regrowth", "is_active=true"
    found = [{row["id"] for row in desk.rows(f"/api/chain-rules?{query}")} for query in own]
    assert all(str(rule.public_id) in ids and len(ids) == ChainRule.objects.count() - 1 for ids in found)


def test_it_tells_the_steps_that_nothing_stands_for(desk):
    rule = build.ChainRuleFactory(code="own")
    asked = build.PrescriptionFactory(season__last_day="2027-12-17")
    address = f"/api/prescriptions/{asked.public_id}/later-steps"
    steps = [step for step in desk.get(address).json()["steps"] if step["rule"] == "own"]
    assert [(step["purpose"], step["method"]["code"]) for step in steps] == [("regrowth", rule.method.code)]
    assert "no estimate" in steps[0]["because"]


def test_it_tells_none_of_a_method_without_rules(desk):
    asked = build.PrescriptionFactory(estimate__method__code="nothing-follows")
    assert desk.get(f"/api/prescriptions/{asked.public_id}/later-steps").json() == {"steps": []}
