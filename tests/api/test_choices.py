"""Choosing for many patches over HTTP: looked at, made, listed, put back."""

import pytest

from orders.planning.models import Prescription
from tests.api.caller import error_fields
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _body(ground, method="recommended", **more):
    return {"season": str(ground.world.season.public_id), "method": method, **more}


def _choose(desk, body):
    seen = desk.post("/api/choices/preview", body, format="json").json()
    return desk.send("/api/choices", {**body, "fingerprint": seen["fingerprint"]})


def test_it_previews_and_keeps_nothing(desk, ground):
    reply = desk.post("/api/choices/preview", _body(ground), format="json")
    shown = reply.json()
    assert reply.status_code == 200
    assert [row["method"] for row in shown["rows"]] == ["hand-pull", "dormant-foliar", "dormant-foliar"]
    assert shown["chosen"]["likely_cents"] == sum(row["total_cents"] for row in shown["rows"])
    assert shown["capacity"]["paid_hours"] > shown["after"]["paid_hours"] > 0
    assert not Prescription.objects.exists()


def test_it_narrows_by_what_is_asked(desk, ground):
    where = {"recommended": "dormant-foliar", "chosen": "no", "text": "h-02"}
    shown = desk.post("/api/choices/preview", _body(ground, where=where), format="json").json()
    assert [row["patch"]["code"] for row in shown["rows"]] == ["H-02"]


def test_it_chooses_as_shown(desk, ground):
    reply = _choose(desk, _body(ground))
    assert reply.status_code == 201
    assert [part["act"] for part in reply.json()["parts"]] == ["made"] * 3
    assert desk.get(reply.headers["Location"]).json() == reply.json()
    assert desk.rows("/api/choice-batches")[0]["id"] == reply.json()["id"]


def test_it_refuses_a_preview_that_is_out_of_date(desk, ground):
    body = _body(ground)
    seen = desk.post("/api/choices/preview", body, format="json").json()
    ground.choose("hand-pull", ground.pulled)
    reply = desk.send("/api/choices", {**body, "fingerprint": seen["fingerprint"]})
    assert (reply.status_code, reply.json()["code"]) == (409, "preview_out_of_date")


def test_it_asks_why_it_is_not_what_is_recommended(desk, ground):
    body = _body(ground, "spot-foliar", patches=[str(ground.wide.public_id)])
    reply = _choose(desk, body)
    assert (reply.status_code, error_fields(reply)) == (400, ["why"])
    assert _choose(desk, {**body, "why": "A class works there in January."}).status_code == 201


def test_it_names_a_patch_that_is_not_there(desk, ground):
    named = [str(ground.wide.public_id), str(ground.world.season.public_id)]
    reply = desk.post("/api/choices/preview", _body(ground, patches=named), format="json")
    assert (reply.status_code, error_fields(reply)) == (400, ["patches[1]"])


def test_it_puts_a_choice_back(desk, ground):
    made = _choose(desk, _body(ground)).json()
    reply = desk.send(f"/api/choice-batches/{made['id']}/undo")
    assert (reply.status_code, reply.json()["state"]) == (200, "undone")
    assert set(Prescription.objects.values_list("state", flat=True)) == {"dropped"}


def test_it_does_not_put_back_what_was_ordered(desk, ground):
    made = _choose(desk, _body(ground)).json()
    Prescription.objects.filter(patch=ground.wide).update(state="ordered")
    reply = desk.send(f"/api/choice-batches/{made['id']}/undo")
    assert (reply.status_code, reply.json()["code"]) == (409, "choice_in_use")


def test_it_chooses_once_for_the_same_key(desk, ground):
    body = _body(ground)
    seen = desk.post("/api/choices/preview", body, format="json").json()
    asked = {**body, "fingerprint": seen["fingerprint"]}
    first, again = (desk.send("/api/choices", asked, key="the-same-key") for _ in range(2))
    assert first.json() == again.json()
    assert Prescription.objects.count() == 3
