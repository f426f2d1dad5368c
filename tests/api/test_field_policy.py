"""The program's own rules for work outside."""

import pytest

from orders.field.models import FieldPolicy

pytestmark = pytest.mark.django_db
RULES = {
    "lone_saw_work": False,
    "lone_herbicide_work": True,
    "least_age": 21,
    "overdue_after_minutes": 45,
    "gap_minutes": 15,
    "split_rule": "equal",
}


def put(caller, body):
    seen = caller.get("/api/field-policy").headers["ETag"]
    return caller.edit("/api/field-policy", body, etag=seen, method="put")


def test_it_is_set(desk):
    reply = put(desk, RULES)
    assert (reply.status_code, reply.json()["least_age"]) == (200, 21)
    assert FieldPolicy.objects.get().split_rule == "equal"


def test_it_never_goes_below_eighteen(desk):
    assert put(desk, {**RULES, "least_age": 17}).status_code == 400


def test_it_builds_on_what_was_read(desk):
    reply = desk.edit("/api/field-policy", RULES, etag='"old"', method="put")
    assert reply.status_code == 412


def test_it_is_read_by_crews_and_set_by_the_desk(lead, finance):
    assert lead.get("/api/field-policy").status_code == 200
    assert finance.get("/api/field-policy").status_code == 403
    assert lead.edit("/api/field-policy", RULES, etag="*", method="put").status_code == 403
