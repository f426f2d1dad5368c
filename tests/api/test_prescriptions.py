"""Prescriptions: one's own choice with its reason, listed, dropped."""

import pytest

from orders import flow
from orders.estimates.models import Method
from orders.planning.models import Prescription
from tests import build
from tests.api.caller import error_fields
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def body():
    estimate, season = build.EstimateFactory(), build.SeasonFactory()
    return {
        "season": str(season.public_id),
        "estimate": str(estimate.public_id),
        "first_day": "2027-01-10",
        "last_day": "2027-02-10",
        "window_because": "Before the ephemerals.",
        "why": "The neighbor cuts too.",
    }


def test_it_adds_an_own_choice(desk, body):
    reply = desk.send("/api/prescriptions", body)
    assert reply.status_code == 201
    assert (reply.json()["is_own_choice"], reply.json()["why"]) == (True, "The neighbor cuts too.")
    assert reply.json()["estimate"] == body["estimate"]
    assert desk.get(reply.headers["Location"]).json() == reply.json()


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"last_day": "2027-01-01"}, "last_day"),
        ({"first_day": "2029-01-01", "last_day": "2029-02-01"}, "first_day"),
        ({"why": ""}, "why"),
        ({"estimate": 7}, "estimate"),
        ({"state": "done"}, "state"),
    ],
)
def test_it_names_what_is_wrong(desk, body, more, field):
    reply = desk.send("/api/prescriptions", {**body, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert not Prescription.objects.exists()


def test_it_knows_no_other_estimate(desk, body):
    body["estimate"] = body["season"]
    assert desk.send("/api/prescriptions", body).status_code == 404


def test_it_asks_for_nothing_twice(desk, body):
    desk.send("/api/prescriptions", body)
    assert error_fields(desk.send("/api/prescriptions", body)) == ["estimate"]


def test_it_filters(desk):
    row = build.PrescriptionFactory()
    build.PrescriptionFactory(state="done")
    queries = [
        f"season={row.season.public_id}",
        f"patch={row.patch.public_id}",
        f"site={row.patch.site.public_id}",
        "state=open",
        "state=open,planned",
    ]
    found = [[found["id"] for found in desk.rows(f"/api/prescriptions?{query}")] for query in queries]
    assert found == [[str(row.public_id)]] * len(queries)
    assert len(desk.rows("/api/prescriptions?origin=survey&method=cut")) == 2


def test_it_drops_with_the_reason(desk):
    row = build.PrescriptionFactory()
    reply = desk.send(f"/api/prescriptions/{row.public_id}/drop", {"reason": "Flooded."})
    assert (reply.status_code, reply.json()["state"]) == (200, "dropped")


def test_it_does_not_drop_what_is_on_an_order(desk):
    row = build.PrescriptionFactory(state="ordered")
    reply = desk.send(f"/api/prescriptions/{row.public_id}/drop", {"reason": "Flooded."})
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


@pytest.fixture
def ground():
    return ground_build()


def _own(ground, patch, method, **more):
    estimate = patch.surveys.latest("id").estimates.get(method__code=method)
    window = {"first_day": "2027-01-10", "last_day": "2027-02-10", "window_because": "Dry then.", "why": "By habit."}
    return {
        "season": str(ground.world.season.public_id),
        "estimate": str(estimate.public_id),
        **window,
        **more,
    }


def test_it_takes_another_method_that_fits(desk, ground):
    assert desk.send("/api/prescriptions", _own(ground, ground.pulled, "dig")).status_code == 201


def test_it_refuses_a_method_that_does_not_fit_any_more(desk, ground):
    body = _own(ground, ground.wide, "dormant-foliar")
    type(ground.wide.surveys.get()).objects.filter(patch=ground.wide).update(slope_deg=40)
    reply = desk.send("/api/prescriptions", body)
    assert (reply.status_code, error_fields(reply)) == (400, ["estimate"])
    assert reply.json()["errors"][0]["code"] == "does_not_fit"
    assert "steep" in reply.json()["errors"][0]["message"].lower()


def test_it_takes_what_waits_for_the_survey_with_a_reason_only(desk, ground):
    body = _own(ground, ground.wide, "dormant-foliar")
    type(ground.wide.surveys.get()).objects.filter(patch=ground.wide).update(wet_ground="unknown")
    assert error_fields(desk.send("/api/prescriptions", {**body, "why": " "})) == ["why"]
    assert desk.send("/api/prescriptions", body).status_code == 201


def test_it_refuses_what_a_label_forbids(desk):
    mix = build.MixFactory(products=[(build.ProductFactory(uses=["basal-bark"]), 2.0, "herbicide")])
    ground = ground_build(estimated=False)
    Method.objects.filter(code="spot-foliar").update(default_mix=mix)
    build.PriceFactory(kind="product", code=mix.parts.get().product.code, price_e4=200_000)
    flow.estimate_patches(on=BEGIN.date(), stamp=ground.world.stamp())
    reply = desk.send("/api/prescriptions", _own(ground, ground.wide, "spot-foliar"))
    assert (reply.status_code, error_fields(reply)) == (400, ["estimate"])
    assert reply.json()["errors"][0]["code"] == "label"
    assert "does not allow spot-foliar" in reply.json()["errors"][0]["message"]
    assert not Prescription.objects.exists()
