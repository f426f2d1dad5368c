"""Rates of pay: typed, or figured from a wage; in any role or in one."""

import json
from datetime import date
from typing import Any

import pytest

from orders.common.errors import Invalid, NotFound
from orders.common.models import Change
from orders.costs.models import PayPolicy, PayRate
from orders.costs.pay_selectors import pay_policy, pay_rate_for
from orders.costs.services import pay_rate_set
from tests import build

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 1)
LOADED: dict[str, Any] = {"wage_e4": 282_000, "fringe_e4": 2_500, "yearly_cents": 4_260_00, "productive_hours": 1_800}


def wrong_fields(stamp, **said):
    with pytest.raises(Invalid) as refusal:
        pay_rate_set(stamp=stamp, person=build.PersonFactory(), from_day=DAY, **said)
    assert not PayRate.objects.exists()
    return [error.field for error in refusal.value.errors]


def test_it_keeps_a_rate_alone(stamp):
    rate = pay_rate_set(stamp=stamp, person=build.PersonFactory(), from_day=DAY, rate_e4=431_000)
    assert (rate.rate_e4, rate.wage_e4, rate.productive_hours) == (431_000, None, None)


def test_it_figures_the_rate_and_keeps_its_terms(stamp):
    rate = pay_rate_set(stamp=stamp, person=build.PersonFactory(), from_day=DAY, **LOADED)
    rate.refresh_from_db()
    assert (rate.rate_e4, rate.paid_hours, rate.productive_hours) == (431_000, 2_080, 1_800)


def test_it_takes_a_wage_with_nothing_on_top_as_the_rate(stamp):
    rate = pay_rate_set(stamp=stamp, person=build.PersonFactory(), from_day=DAY, wage_e4=200_000, paid_hours=1_000)
    assert (rate.rate_e4, rate.productive_hours) == (200_000, 1_000)


def test_it_keeps_a_rate_beside_its_wage(stamp):
    rate = pay_rate_set(stamp=stamp, person=build.PersonFactory(), from_day=DAY, wage_e4=200_000, rate_e4=260_000)
    assert (rate.rate_e4, rate.fringe_e4) == (260_000, None)


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({}, "rate_e4"),
        ({"rate_e4": -1}, "rate_e4"),
        ({"rate_e4": 1, "fringe_e4": 900}, "wage_e4"),
        ({"wage_e4": 200_000, "rate_e4": 199_999}, "rate_e4"),
        ({**LOADED, "rate_e4": 431_001}, "rate_e4"),
        ({"wage_e4": 200_000, "productive_hours": 2_081}, "productive_hours"),
        ({"wage_e4": 200_000, "paid_hours": 0}, "paid_hours"),
    ],
)
def test_it_names_the_field_that_is_wrong(stamp, said, field):
    assert field in wrong_fields(stamp, **said)


def test_it_has_one_rate_a_role_and_day(stamp):
    facts: dict[str, Any] = {"person": build.PersonFactory(), "from_day": DAY, "role": build.LaborRoleFactory()}
    pay_rate_set(stamp=stamp, rate_e4=1, **facts)
    with pytest.raises(Invalid, match="not added"):
        pay_rate_set(stamp=stamp, rate_e4=2, **facts)
    pay_rate_set(stamp=stamp, rate_e4=2, **{**facts, "role": None})
    assert PayRate.objects.count() == 2


def test_it_keeps_every_figure_out_of_the_record_of_changes(stamp):
    rate = pay_rate_set(stamp=stamp, person=build.PersonFactory(), from_day=DAY, **LOADED)
    told = Change.objects.get(entity_id=rate.public_id).after or {}
    assert not any(str(figure) in json.dumps(told) for figure in (431_000, *LOADED.values()))
    assert told["from_day"] == "2027-01-01"


def test_a_roles_own_rate_goes_before_the_one_for_any():
    person, role = build.PersonFactory(), build.LaborRoleFactory(code="lead-for-a-day")
    general = build.PayRateFactory(person=person, from_day=date(2027, 3, 1))
    own = build.PayRateFactory(person=person, from_day=DAY, role=role)
    assert pay_rate_for(person, date(2027, 4, 1), role) == own
    assert pay_rate_for(person, date(2027, 4, 1)) == general
    assert pay_rate_for(person, date(2026, 12, 31), role) is None


def test_the_newest_rate_that_has_begun_counts():
    person = build.PersonFactory()
    old = build.PayRateFactory(person=person, from_day=DAY)
    build.PayRateFactory(person=person, from_day=date(2027, 7, 1))
    assert pay_rate_for(person, date(2027, 6, 30), person.role) == old


def test_the_newest_policy_that_has_begun_counts():
    new = build.PayPolicyFactory(from_day=date(2027, 1, 3))
    assert pay_policy(date(2027, 1, 3)) == new
    assert pay_policy(date(2027, 1, 2)) != new


def test_it_says_where_no_policy_has_begun():
    PayPolicy.objects.all().delete()
    with pytest.raises(NotFound, match="2027-01-01"):
        pay_policy(DAY)
