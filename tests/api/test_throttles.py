"""Reads and writes are slowed down apart."""

import pytest

from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _few(settings):
    rates = {"read": "3/min", "write": "2/min", "login": "5/min"}
    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "DEFAULT_THROTTLE_RATES": rates}


def test_it_slows_down_who_reads_too_much(desk):
    replies = [desk.get("/api/sites") for _ in range(4)]
    assert [reply.status_code for reply in replies] == [200, 200, 200, 429]
    assert replies[-1].json()["code"] == "throttled"
    assert 0 < int(replies[-1].headers["Retry-After"]) <= 61


def test_it_never_stops_a_write_for_reads(desk):
    for _ in range(4):
        desk.get("/api/sites")
    assert desk.send("/api/estimates").status_code == 201


def test_it_slows_down_who_writes_too_much(desk):
    tried = [desk.send("/api/estimates").status_code for _ in range(3)]
    assert tried == [201, 201, 429]


def test_it_counts_people_apart(desk):
    for _ in range(4):
        desk.get("/api/sites")
    assert Caller(build.UserFactory(roles=["coordinator"])).get("/api/sites").status_code == 200


def test_it_lets_go_after_a_minute(desk, clock):
    for _ in range(4):
        desk.get("/api/sites")
    clock.shift(61)
    assert desk.get("/api/sites").status_code == 200


def test_it_believes_no_header_about_the_address(nobody):
    statuses = [nobody.get("/api/schema", headers={"X-Forwarded-For": f"10.0.0.{n}"}).status_code for n in range(4)]
    assert statuses == [200, 200, 200, 429]
