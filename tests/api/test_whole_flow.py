"""One patch through the whole flow over HTTP alone: a file in, a cost report out."""

import json
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.common.clock import now
from orders.common.runs import run_claim, run_find, run_perform
from tests import build
from tests.api.caller import Caller
from tests.flow.world import world_build

pytestmark = pytest.mark.django_db


def _survey(site_code):
    said = {"site_code": site_code, "patch_code": "N-1", "observed_on": "2026-10-12", "observer": "A. Surveyor"}
    seen = {"species": "EUFO", "growth_form": "ground cover", "cover_percent": 30, "infested_percent": 5}
    ground = {"wet_ground": "no", "desirable_tree_roots": "no", "slope_deg": 4, "minutes_from_gate": 6}
    feature = {"type": "Feature", "properties": {**said, **seen, **ground}, "geometry": build.square()}
    content = json.dumps({"type": "FeatureCollection", "features": [feature]})
    return SimpleUploadedFile("october.geojson", content.encode())


def _work(run_id):
    """What a worker would do with the row that the request left."""
    run = run_find(UUID(run_id))
    attempt = run_claim(run, at=now())
    assert attempt is not None
    run_perform(run, attempt, clock=now)


def _sent(caller, path, body=None, status=200):
    reply = caller.send(path, body)
    assert reply.status_code == status, reply.content
    return reply.json()


def test_it_goes_from_a_survey_file_to_a_report_that_reconciles():
    world = world_build()
    desk, lead, money = Caller(world.coordinator), Caller(world.lead), Caller(world.finance)
    handed_in = desk.post(
        "/api/survey-imports",
        {"file": _survey(world.patch.site.code)},
        format="multipart",
        headers={"Idempotency-Key": "october-survey"},
    ).json()
    _work(handed_in["id"])
    assert desk.get(f"/api/survey-imports/{handed_in['id']}").json()["rows_added"] == 1

    _sent(desk, "/api/estimates", {}, status=201)
    season = desk.rows("/api/seasons")[0]["id"]
    _sent(desk, f"/api/seasons/{season}/prescribe", status=201)
    plan = _sent(desk, "/api/plan-runs", {"season": season, "iterations": 10}, status=202)
    _work(plan["id"])
    funding = [{"fund": str(world.fund.public_id), "share_e4": 10_000}]
    orders = _sent(desk, f"/api/plan-runs/{plan['id']}/accept", {"funding": funding}, status=201)["orders"]
    for order in orders:
        _sent(desk, f"/api/work-orders/{order['id']}/issue")
        _closed_by(lead, order["id"])

    reports = {by: money.get(f"/api/reports/costs?by={by}").json() for by in ("order", "site", "method", "fund")}
    spent = sum(row["amount_cents"] for row in money.rows("/api/ledger"))
    assert {report["total"]["actual_cents"] for report in reports.values()} == {spent}
    assert sum(row["actual_cents"] for row in reports["order"]["rows"]) == spent > 0
    assert desk.get("/api/ledger").status_code == lead.get("/api/reports/costs").status_code == 403


def _closed_by(lead, order_id):
    _sent(lead, f"/api/work-orders/{order_id}/start")
    order = lead.get(f"/api/work-orders/{order_id}").json()
    people = lead.rows("/api/people")
    asked = {share["prescription"] for visit in order["visits"] for share in visit["shares"]}
    statement = {
        "work_date": order["last_day"],
        "happened_at": "2026-12-02T20:00:00Z",
        "confirmed_by": "A. Lead",
        "outcomes": [{"prescription": one, "percent_complete": 100} for one in sorted(asked)],
        "times": [
            {"visit": visit["id"], "person": person["id"], "minutes": 300, "origin": "typed"}
            for visit in order["visits"]
            for person in people
        ],
    }
    _sent(lead, f"/api/work-orders/{order_id}/close", statement, status=201)
    assert lead.get(f"/api/work-orders/{order_id}").json()["state"] == "closed"
