"""What can happen to an order before it is closed: funding, issue, start, a visit off, override, other crew, void."""

import pytest

from orders.common.models import Change
from orders.costs.models import Commitment
from orders.workorders.models import WorkOrder
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def other_fund():
    return build.FundFactory(code="GRANT")


def _shares(scene, other_fund, first=6_000, second=4_000):
    funds = ((scene.world.fund, first), (other_fund, second))
    return {"shares": [{"fund": str(fund.public_id), "share_e4": share} for fund, share in funds]}


def test_it_funds_a_draft(scene, other_fund):
    caller = scene.as_("finance")
    etag = caller.get(scene.address).headers["ETag"]
    reply = caller.edit(f"{scene.address}/funding", _shares(scene, other_fund), etag=etag, method="put")
    assert reply.status_code == 200, reply.json()
    assert [(row["fund_code"], row["share_e4"]) for row in reply.json()["funding"]] == [
        ("OPS", 6_000),
        ("GRANT", 4_000),
    ]


def test_it_loses_no_funding_to_somebody_faster(scene, other_fund):
    finance, coordinator = scene.as_("finance"), scene.as_("coordinator")
    stale = finance.get(scene.address).headers["ETag"]
    coordinator.edit(f"{scene.address}/funding", _shares(scene, other_fund), etag="*", method="put")
    reply = finance.edit(f"{scene.address}/funding", _shares(scene, other_fund, 1, 9_999), etag=stale, method="put")
    assert (reply.status_code, reply.json()["code"]) == (412, "version_mismatch")
    assert sorted(scene.order.funding.values_list("share_e4", flat=True)) == [4_000, 6_000]


def test_it_asks_which_version_is_funded(scene, other_fund):
    reply = scene.as_("finance").put(f"{scene.address}/funding", _shares(scene, other_fund), format="json")
    assert reply.status_code == 428


@pytest.mark.parametrize(
    ("first", "second", "field"),
    [(6_000, 3_000, "shares"), (0, 10_000, "shares[0].share_e4"), (10_000, 10_000, "shares")],
)
def test_it_refuses_shares_that_do_not_add_up(scene, other_fund, first, second, field):
    body = _shares(scene, other_fund, first, second)
    reply = scene.as_("finance").edit(f"{scene.address}/funding", body, etag="*", method="put")
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert scene.order.funding.get().share_e4 == 10_000


def test_it_fixes_the_funding_at_issue(scene, other_fund):
    scene.issue()
    reply = scene.as_("finance").edit(f"{scene.address}/funding", _shares(scene, other_fund), etag="*", method="put")
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


def test_it_issues(scene):
    reply = scene.as_("coordinator").send(f"{scene.address}/issue")
    assert (reply.status_code, reply.json()["state"]) == (200, "issued")
    assert Commitment.objects.exists()


def test_it_does_not_issue_while_the_checklist_is_open(scene):
    build.ChecklistQuestionFactory(code="water")
    reply = scene.as_("coordinator").send(f"{scene.address}/issue")
    assert (reply.status_code, reply.json()["code"], error_fields(reply)) == (409, "checklist_open", ["water"])
    assert not Commitment.objects.exists()


def test_it_does_not_issue_what_nobody_pays(scene):
    scene.order.funding.all().delete()
    reply = scene.as_("coordinator").send(f"{scene.address}/issue")
    assert (reply.status_code, error_fields(reply)) == (400, ["funding"])
    assert WorkOrder.objects.get(pk=scene.order.pk).state == "draft"


@pytest.mark.parametrize("name", ["lead", "mate", "coordinator"])
def test_it_is_started_by_a_lead_or_the_desk(scene, name):
    scene.issue()
    reply = scene.as_(name).send(f"{scene.address}/start")
    assert (reply.status_code, reply.json()["state"]) == (200, "underway")


def test_it_does_not_start_a_draft(scene):
    assert scene.as_("coordinator").send(f"{scene.address}/start").json()["code"] == "wrong_state"


def _not_done(scene):
    return f"{scene.address}/visits/{scene.visit.public_id}/not-done"


def test_it_calls_a_visit_off(scene):
    scene.issue()
    reply = scene.as_("lead").send(_not_done(scene), {"reason": "The gate was locked."})
    assert (reply.status_code, reply.json()["state"]) == (200, "not_done")
    assert reply.json()["not_done_reason"] == "The gate was locked."
    assert scene.as_("lead").get(scene.address).json()["visits"][0]["state"] == "not_done"


def test_it_calls_a_visit_off_once(scene):
    scene.issue()
    scene.as_("lead").send(_not_done(scene), {"reason": "Rain."})
    assert scene.as_("mate").send(_not_done(scene), {"reason": "Snow."}).status_code == 409


def _override(kind):
    return {"limit_kind": kind, "limit": "No work within 5 m of water.", "reason": "The ditch is dry."}


@pytest.mark.parametrize("kind", ["program-policy", "label-advisory"])
def test_it_overrides_with_name_and_reason(scene, kind):
    reply = scene.as_("pesticide_supervisor").send(f"{scene.address}/overrides", _override(kind))
    assert (reply.status_code, reply.json()["by"]["name"]) == (201, "pesticide_supervisor")
    assert scene.as_("coordinator").get(scene.address).json()["overrides"] == [reply.json()]


def test_it_never_overrides_what_the_label_demands(scene):
    reply = scene.as_("administrator").send(f"{scene.address}/overrides", _override("label-mandatory"))
    assert (reply.status_code, error_fields(reply)) == (400, ["limit_kind"])
    assert not scene.order.overrides.exists()


def test_it_gives_the_order_to_another_crew(scene):
    scene.issue()
    body = {"crew": str(scene.other_crew.public_id), "reason": "A sick crew."}
    reply = scene.as_("coordinator").send(f"{scene.address}/reassign", body)
    assert (reply.status_code, reply.json()["crew"]["name"]) == (200, "Far crew")
    assert Change.objects.get(verb="order_reassign").reason == "A sick crew."


def test_it_knows_no_other_crew(scene):
    body = {"crew": str(scene.order.public_id), "reason": "A sick crew."}
    assert scene.as_("coordinator").send(f"{scene.address}/reassign", body).status_code == 404


def test_it_voids_and_takes_back_what_was_planned(scene):
    scene.issue()
    reply = scene.as_("coordinator").send(f"{scene.address}/void", {"reason": "The land was sold."})
    assert (reply.status_code, reply.json()["state"]) == (200, "void")
    assert sum(Commitment.objects.values_list("amount_cents", flat=True)) == 0
    assert scene.as_("coordinator").get(scene.address).json()["void_reason"] == "The land was sold."


@pytest.mark.parametrize(("path", "field"), [("/void", "reason"), ("/reassign", "reason"), ("/overrides", "reason")])
def test_it_asks_why(scene, path, field):
    reply = scene.as_("coordinator").send(f"{scene.address}{path}", {"reason": " "})
    assert reply.status_code == 400
    assert field in error_fields(reply)
