"""Work put on a day, visits taken off and put back, orders drafted, what keeps one back, and instructions."""

from datetime import timedelta

import pytest

from orders.planning.models import Visit
from tests.api.caller import error_fields
from tests.api.scene import scene_build
from tests.planning.small import MONDAY, asked

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    return scene_build()


@pytest.fixture
def desk(scene):
    return scene.as_("coordinator")


@pytest.fixture
def work(scene):
    return asked(scene.world, "B", 0.15)


def _to(scene, day=MONDAY, **more):
    return {"crew": str(scene.world.crew.public_id), "day": day.isoformat(), **more}


def test_it_previews_and_puts_work_on_a_day(scene, desk, work):
    address = f"/api/prescriptions/{work.public_id}"
    where = f"crew={scene.world.crew.public_id}&day={MONDAY}"
    told = desk.get(f"{address}/visit-preview?{where}").json()
    assert (told["share"], told["breaks"], told["is_refused"], told["needs_reason"]) == (1.0, [], False, False)
    made = desk.send(f"{address}/visits", _to(scene)).json()
    assert (made["day"], made["state"], made["is_kept"], made["order"]) == (str(MONDAY), "planned", True, None)
    assert desk.send(f"{address}/visits", _to(scene)).status_code == 409


def test_it_wants_a_reason_for_what_breaks(scene, desk, work):
    address = f"/api/prescriptions/{work.public_id}/visits"
    saturday = MONDAY + timedelta(days=5)
    assert "reason" in error_fields(desk.send(address, _to(scene, saturday)))
    assert desk.send(address, _to(scene, saturday, reason="The owner asks.")).status_code == 201


def test_it_takes_a_visit_off_and_puts_it_back(scene, desk, work):
    made = desk.send(f"/api/prescriptions/{work.public_id}/visits", _to(scene)).json()
    address = f"/api/visits/{made['id']}"
    assert desk.send(f"{address}/take-off", {}).json()["state"] == "dropped"
    assert desk.send(f"{address}/put-back").json()["state"] == "planned"
    on_order = f"/api/visits/{scene.visit.public_id}/take-off"
    assert error_fields(desk.send(on_order, {})) == ["reason"]


def test_it_drafts_orders_for_what_has_none(scene, desk, work):
    desk.send(f"/api/prescriptions/{work.public_id}/visits", _to(scene))
    address = f"/api/seasons/{scene.world.season.public_id}/orders"
    (made,) = desk.send(address).json()["results"]
    assert (made["state"], made["first_day"]) == ("draft", str(MONDAY))
    assert Visit.objects.filter(state="planned").count() == 0
    assert desk.send(address).status_code == 409


def test_it_tells_what_keeps_an_order_back(scene, desk):
    assert desk.get(f"{scene.address}/obstacles").json() == {"results": []}
    scene.order.funding.all().delete()
    (told,) = desk.get(f"{scene.address}/obstacles").json()["results"]
    assert (told["code"], [error["field"] for error in told["errors"]]) == ("invalid", ["funding"])
    assert scene.as_("lead").get(f"{scene.address}/obstacles").status_code == 403


def test_it_changes_instructions_of_the_version_that_was_read(scene, desk):
    address, tag = f"{scene.address}/instructions", desk.get(scene.address)["ETag"]
    reply = desk.edit(address, {"instructions": "Park at the barn."}, etag=tag, method="put")
    assert reply.json()["instructions"] == "Park at the barn."
    late = desk.edit(address, {"instructions": "Elsewhere."}, etag=tag, method="put")
    assert late.status_code == 412
