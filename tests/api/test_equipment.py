"""What crews share: listed with what needs it, added, edited."""

import pytest

from orders.supplies.models import Equipment
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
BODY = {"code": "brush-saw", "name": "Brush saw", "count": 3}


def test_it_tells_what_needs_it(lead):
    need = build.MethodEquipmentFactory(units_per_crew=2)
    (row,) = lead.rows("/api/equipment")
    assert (row["code"], row["count"]) == (need.equipment.code, 4)
    assert row["needs"] == [{"method": need.method.code, "units_per_crew": 2}]


def test_it_adds_a_kind_and_says_where_it_is(desk):
    reply = desk.send("/api/equipment", BODY)
    assert (reply.status_code, reply.json()["count"], reply.json()["notes"]) == (201, 3, "")
    assert desk.get(reply.headers["Location"]).json() == reply.json()


@pytest.mark.parametrize(
    ("more", "field"),
    [({"count": -1}, "count"), ({"count": 1.5}, "count"), ({"name": ""}, "name"), ({"code": ""}, "code")],
)
def test_it_names_what_is_wrong(desk, more, field):
    reply = desk.send("/api/equipment", {**BODY, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert not Equipment.objects.exists()


def test_it_adds_a_code_once(desk):
    desk.send("/api/equipment", BODY)
    assert error_fields(desk.send("/api/equipment", BODY)) == ["code"]


def test_it_edits_what_was_read(desk):
    kind = build.EquipmentFactory()
    address = f"/api/equipment/{kind.public_id}"
    etag = desk.get(address).headers["ETag"]
    reply = desk.edit(address, {"count": 2, "notes": "Two in repair."}, etag=etag)
    assert (reply.status_code, reply.json()["count"], reply.json()["notes"]) == (200, 2, "Two in repair.")
    assert desk.edit(address, {"count": 1}, etag=etag).status_code == 412


def test_it_lets_no_lead_change_it(lead):
    kind = build.EquipmentFactory()
    reply = lead.edit(f"/api/equipment/{kind.public_id}", {"count": 0}, etag="*")
    assert (reply.status_code, reply.json()["code"]) == (403, "role_missing")


def _needs(desk, method, *needs):
    address = f"/api/methods/{method.public_id}"
    etag = desk.get(address).headers["ETag"]
    body = {"equipment": [{"equipment": code, "units_per_crew": units} for code, units in needs]}
    return desk.edit(f"{address}/equipment", body, etag=etag, method="put")


def test_it_says_what_a_method_needs(desk):
    method, kind = build.MethodFactory(), build.EquipmentFactory()
    reply = _needs(desk, method, (kind.code, 2))
    assert (reply.status_code, reply.json()["equipment"]) == (200, [{"equipment": kind.code, "units_per_crew": 2}])
    assert desk.get(f"/api/methods/{method.public_id}").json() == reply.json()
    assert _needs(desk, method).json()["equipment"] == []


def test_it_knows_no_other_equipment(desk):
    assert _needs(desk, build.MethodFactory(), ("wand", 1)).status_code == 404


def test_it_needs_some_or_none(desk):
    reply = _needs(desk, build.MethodFactory(), (build.EquipmentFactory().code, 0))
    assert (reply.status_code, error_fields(reply)) == (400, ["equipment[0].units_per_crew"])


def test_it_names_what_is_named_twice(desk):
    code = build.EquipmentFactory().code
    reply = _needs(desk, build.MethodFactory(), (code, 1), (code, 2))
    assert (reply.status_code, error_fields(reply)) == (400, ["equipment[1].equipment"])
