"""Rules on records by the API: read by all, put and reviewed by the pesticide supervisor."""

import pytest

from orders.workorders.models import RecordProfile
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db

LIST = "/api/record-profiles"
RULE = {
    "jurisdiction": "OH",
    "first_day": "2027-01-01",
    "counts": "days",
    "days": 2,
    "keep_years": 4,
    "required": ["product", "date"],
    "source": "Invented amendment",
}


@pytest.fixture
def supervisor():
    return Caller(build.UserFactory(username="sue", roles=["pesticide_supervisor"]))


def test_it_lists_the_rules_with_what_was_not_found(lead):
    rows = {row["jurisdiction"]: row for row in lead.rows(LIST)}
    assert {"", "US", "MO", "OH"} <= set(rows)
    assert (rows["MO"]["must_carry_order"], rows["MO"]["reviewed_on"]) == (True, None)
    assert "registration number" in rows["MO"]["not_found"]
    assert [row["jurisdiction"] for row in lead.rows(f"{LIST}?jurisdiction=OH")] == ["OH"]


def test_it_puts_a_rule_from_a_day_on(supervisor):
    reply = supervisor.send(LIST, RULE)
    shown = reply.json()
    assert reply.status_code == 201, shown
    assert (shown["keep_years"], shown["reviewed_by"]) == (4, "")
    assert supervisor.get(reply.headers["Location"]).json() == shown
    assert str(RecordProfile.objects.get(jurisdiction="OH", keep_years=3).last_day) == "2026-12-31"


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"required": ["wishes"]}, "required[0]"), ({"jurisdiction": "ZZ"}, "jurisdiction"), ({"days": 0}, "days")],
)
def test_it_names_what_is_wrong(supervisor, changed, field):
    reply = supervisor.send(LIST, {**RULE, **changed})
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_keeps_the_review_of_what_was_read(supervisor):
    address = f"{LIST}/{RecordProfile.objects.get(jurisdiction='OH').public_id}"
    tag = supervisor.get(address).headers["ETag"]
    reply = supervisor.edit(address, {}, etag=tag)
    assert (reply.status_code, reply.json()["reviewed_by"]) == (200, "sue")
    assert supervisor.edit(address, {}, etag=tag).status_code == 412


def test_it_is_the_supervisors_alone(desk):
    assert desk.send(LIST, RULE).status_code == 403
