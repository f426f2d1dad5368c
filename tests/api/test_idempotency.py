"""The same Idempotency-Key gets the same reply, and nothing happens twice."""

import pytest

from orders.common.models import Change, RememberedReply
from orders.planning.models import Season
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db
BODY = {"name": "2028", "first_day": "2028-01-03", "last_day": "2028-12-15"}
KEY = "season-of-2028"


def test_it_replays_the_reply_with_its_headers(desk):
    first, again = (desk.send("/api/seasons", BODY, key=KEY) for _ in range(2))
    assert (first.status_code, first.json()) == (again.status_code, again.json())
    assert all(first.headers[name] == again.headers[name] for name in ("ETag", "Location"))
    assert ("Idempotent-Replayed" in first.headers, again.headers["Idempotent-Replayed"]) == (False, "true")
    assert Season.objects.count() == 1


def test_it_knows_the_same_content_in_another_order(desk):
    desk.send("/api/seasons", BODY, key=KEY)
    turned = dict(reversed(BODY.items()))
    assert desk.send("/api/seasons", turned, key=KEY).status_code == 201


def test_it_refuses_another_request_under_the_same_key(desk):
    desk.send("/api/seasons", BODY, key=KEY)
    for path, body in (("/api/seasons", {**BODY, "name": "2029"}), ("/api/estimates", {})):
        reply = desk.send(path, body, key=KEY)
        assert (reply.status_code, reply.json()["code"]) == (422, "key_used_otherwise")


def test_it_does_not_remember_a_refusal(desk):
    assert desk.send("/api/seasons", {**BODY, "last_day": "2028-01-01"}, key=KEY).status_code == 400
    assert not RememberedReply.objects.exists()
    assert desk.send("/api/seasons", BODY, key=KEY).status_code == 201


def test_it_keeps_the_keys_of_people_apart(desk):
    desk.send("/api/seasons", BODY, key=KEY)
    other = Caller(build.UserFactory(roles=["coordinator"]))
    assert other.send("/api/seasons", {**BODY, "name": "2029"}, key=KEY).status_code == 201


@pytest.mark.parametrize("key", ["", "short", "x" * 201, "with a space", "größe-des-hofs"])
def test_it_asks_for_a_key_that_can_be_one(desk, key):
    reply = desk.post("/api/seasons", BODY, format="json", headers={"Idempotency-Key": key.encode().decode("latin-1")})
    assert (reply.status_code, error_fields(reply)) == (400, ["Idempotency-Key"])


def test_it_asks_for_a_key_where_none_is_sent(desk):
    reply = desk.post("/api/seasons", BODY, format="json")
    assert (reply.status_code, error_fields(reply)) == (400, ["Idempotency-Key"])


def test_it_stores_nothing_where_the_effect_fails(desk, monkeypatch):
    def broken(**_):
        Season.objects.create(name="half", first_day="2028-01-03", last_day="2028-12-15")
        raise RuntimeError

    monkeypatch.setattr("orders.api.seasons.season_add", broken)
    desk.raise_request_exception = False
    assert desk.send("/api/seasons", BODY, key=KEY).status_code == 500
    assert (Season.objects.count(), RememberedReply.objects.count(), Change.objects.count()) == (0, 0, 0)


def test_it_names_an_id_that_is_in_use(scene):
    scene.issue()
    own_id = str(scene.order.public_id)
    season = str(scene.world.season.public_id)
    caller = scene.as_("coordinator")
    assert caller.send("/api/plan-runs", {"season": season, "id": own_id}).status_code == 202
    reply = caller.send("/api/plan-runs", {"season": season, "id": own_id})
    assert (reply.status_code, reply.json()["code"]) == (409, "taken")
