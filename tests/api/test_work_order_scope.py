"""An order outside the scope does not exist: for every verb, and for every address below it."""

from typing import Any

import pytest

from orders.api.permissions import EVERY_ROLE, TABLE
from orders.workorders.models import WorkOrder
from tests.api.scene import statement

pytestmark = pytest.mark.django_db

NESTED: list[tuple[str, str, Any]] = [
    ("GET", "", None),
    ("GET", "/close-outs", None),
    ("PUT", "/funding", {"shares": []}),
    ("POST", "/fund-by-rule", {}),
    ("POST", "/split-again", "shares"),
    ("POST", "/issue", {}),
    ("GET", "/editions", None),
    ("POST", "/editions", {}),
    ("GET", "/packet", None),
    ("GET", "/obstacles", None),
    ("PUT", "/instructions", {"instructions": "Begin at the creek."}),
    ("POST", "/start", {}),
    ("POST", "/close", "statement"),
    ("POST", "/amend", "statement"),
    ("POST", "/void", {"reason": "Rain."}),
    ("POST", "/restore", {"reason": "They worked."}),
    ("POST", "/reassign", "crew"),
    ("POST", "/overrides", {"limit_kind": "program-policy", "limit": "x", "reason": "y"}),
    ("POST", "/visits/{visit}/not-done", {"reason": "Rain."}),
]


def _call(scene, name, method, path, body):
    if body == "statement":
        body = statement(scene.order) | ({"reason": "Late."} if path == "/amend" else {})
    if body == "shares":
        fund = {"fund": str(scene.world.fund.public_id), "share_e4": 10_000}
        body = {"shares": [fund], "reason": "Late."}
    if body == "crew":
        body = {"crew": str(scene.other_crew.public_id), "reason": "Sick."}
    address = scene.address + path.format(visit=scene.visit.public_id)
    headers = {"Idempotency-Key": f"scope-{name}", "If-Match": "*"}
    call = getattr(scene.as_(name), method.lower())
    return call(address, body, format="json", headers=headers) if body is not None else call(address)


def test_it_tries_every_address_below_an_order():
    listed = {name for name in TABLE if name.startswith("work-order") and name != "work-orders"}
    assert len(NESTED) == sum(len(TABLE[name]) for name in listed)


@pytest.mark.parametrize(("method", "path", "body"), NESTED)
def test_it_hides_the_order_of_another_crew(scene, monkeypatch, method, path, body):
    for name in TABLE:
        monkeypatch.setitem(TABLE, name, dict.fromkeys(TABLE[name], EVERY_ROLE))
    scene.issue()
    reply = _call(scene, "stranger", method, path, body)
    assert (reply.status_code, reply.json()["code"]) == (404, "not_found")
    assert WorkOrder.objects.get(pk=scene.order.pk).state == "issued"


@pytest.mark.parametrize("path", ["/start", "/close"])
def test_it_hides_the_order_that_has_left_the_crew(scene, path):
    scene.issue()
    assert _call(scene, "coordinator", "POST", "/reassign", "crew").status_code == 200
    body = "statement" if path == "/close" else {}
    assert _call(scene, "lead", "POST", path, body).status_code == 404
    assert scene.as_("stranger").get(scene.address).status_code == 200


def test_it_hides_a_visit_of_another_order(scene):
    scene.issue()
    body = {"reason": "Rain."}
    reply = scene.as_("coordinator").send(f"{scene.address}/visits/{scene.order.public_id}/not-done", body)
    assert reply.status_code == 404


def test_it_hides_the_order_from_who_left_the_crew(scene):
    scene.issue()
    scene.users["mate"].person.memberships.update(last_day="2026-11-30")
    seen = {name: scene.as_(name).get(scene.address).status_code for name in ("lead", "mate")}
    assert seen == {"lead": 200, "mate": 404}
