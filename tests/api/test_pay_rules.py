"""Rules of pay and overtime over the API, and a week's pay on trial."""

import pytest

from orders.common.models import Change
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db
WEEK = "/api/calculations/pay-week"


def policy(**said):
    usual = {"from_day": "2027-01-03", "week_starts_on": 6, "time_zone": "America/Chicago"}
    return {**usual, "overtime_method": "weighted", "source": "Handbook", **said}


def test_it_sets_how_the_program_pays(finance):
    reply = finance.send("/api/pay-policies", policy(punch_minutes=15))
    assert (reply.status_code, reply.json()["punch_minutes"], reply.json()["source"]) == (201, 15, "Handbook")
    assert finance.rows("/api/pay-policies")[-1]["time_zone"] == "America/Chicago"


def test_it_refuses_a_policy_within_a_week(finance):
    assert error_fields(finance.send("/api/pay-policies", policy(from_day="2027-01-05"))) == ["from_day"]


def test_it_sets_a_states_rule(finance):
    place = build.JurisdictionFactory(code="ZZ")
    body = {"jurisdiction": place.code, "from_day": "2027-01-01", "day_minutes": 480, "source": "Statute"}
    assert finance.send("/api/overtime-rules", body).status_code == 201
    (row,) = finance.rows("/api/overtime-rules?jurisdiction=ZZ")
    assert (row["week_minutes"], row["day_minutes"], row["reviewed_by"]) == (2_400, 480, "")


def test_nobody_sets_more_than_forty_hours(finance):
    body = {"from_day": "2027-01-01", "week_minutes": 2_401, "source": "Wish"}
    assert error_fields(finance.send("/api/overtime-rules", body)) == ["week_minutes"]


def piece(hours, dollars, day=0):
    return {"key": f"{day}", "minutes": hours * 60, "rate_e4": dollars * 10_000, "day": day}


def test_it_figures_a_week_and_keeps_nothing(finance):
    """29 CFR 778.110(b): 46 h at $12 with a bonus of $46."""
    pieces = [piece(23, 12), piece(23, 12, 5)]
    week = finance.send(WEEK, {"pieces": pieces, "bonus_cents": 46_00}).json()
    assert (week["total_cents"], week["regular_rate"], week["overtime_by_piece"]) == (637_00, "13", [0, 360])
    assert sum(line["cents"] for line in week["lines"]) == 637_00
    assert not Change.objects.exists()


def test_it_figures_by_the_rules_that_it_is_told(finance):
    rules = {"day_minutes": 480, "method": "rate_worked"}
    week = finance.send(WEEK, {"pieces": [piece(10, 20)], "rules": rules}).json()
    assert (week["overtime_minutes"], week["premium_cents"]) == (120, 20_00)


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"pieces": [], "bonus_cents": 1}, "bonus_cents"),
        ({"pieces": [], "rules": {"day_minutes": 600, "day_double_minutes": 60}}, "day_double_minutes"),
        ({"pieces": [], "rules": {"week_minutes": 2_401}}, "rules.week_minutes"),
        ({"pieces": [piece(1, 1, 7)]}, "pieces[0].day"),
    ],
)
def test_it_names_the_field_that_is_wrong(finance, body, field):
    reply = finance.send(WEEK, body)
    assert reply.status_code == 400
    assert field in error_fields(reply)


def test_it_figures_weeks_for_finance_alone():
    assert Caller(build.UserFactory(roles=["coordinator"])).send(WEEK, {"pieces": []}).status_code == 403
