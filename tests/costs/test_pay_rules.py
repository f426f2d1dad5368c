"""Rules of pay and overtime, agreements on time off, rates of match, ways of valuing stock."""

import json
from datetime import date
from typing import Any

import pytest

from orders.common.errors import Invalid, RoleMissing
from orders.common.models import Change
from orders.costs.models import CompTimeAgreement, MatchRate, OvertimeRule, PayPolicy, StockPolicy
from orders.costs.pay_selectors import match_rates, overtime_rule, overtime_rules, pay_rates
from orders.costs.services import (
    comp_time_agree,
    comp_time_end,
    match_rate_set,
    overtime_rule_set,
    pay_policy_set,
    stock_policy_set,
)
from orders.costs.services.pay_rates import AgreementEnded
from tests import build

pytestmark = pytest.mark.django_db
SUNDAY = date(2027, 1, 3)
LAW: dict[str, Any] = {"source": "An invented statute"}


def errors_of(write, **said):
    with pytest.raises(Invalid) as refusal:
        write(**said)
    return [error.field for error in refusal.value.errors]


def test_it_sets_how_the_program_pays(stamp):
    policy = pay_policy_set(stamp=stamp, from_day=SUNDAY, spread="overtime", punch_minutes=15, **LAW)
    assert PayPolicy.objects.get(spread="overtime") == policy


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"from_day": date(2027, 1, 4)}, "from_day"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"punch_minutes": 10}, ""),
        ({"overtime_method": "none"}, "overtime_method"),
        ({"source": ""}, "source"),
    ],
)
def test_it_refuses_a_policy_that_is_none(stamp, said, field):
    before = PayPolicy.objects.count()
    assert field in errors_of(pay_policy_set, **{"stamp": stamp, "from_day": SUNDAY, **LAW, **said})
    assert PayPolicy.objects.count() == before


def test_it_sets_a_states_rule(stamp):
    place = build.JurisdictionFactory()
    rule = overtime_rule_set(
        stamp=stamp, jurisdiction=place, from_day=SUNDAY, day_minutes=480, day_double_minutes=720, **LAW
    )
    assert overtime_rule(place, SUNDAY) == rule
    assert overtime_rule(None, SUNDAY) != rule


@pytest.mark.parametrize("where", ["federal", "state"])
def test_nobody_sets_more_than_forty_hours(stamp, where):
    place = build.JurisdictionFactory() if where == "state" else None
    before = OvertimeRule.objects.count()
    said = {"stamp": stamp, "jurisdiction": place, "from_day": SUNDAY, "week_minutes": 2_401}
    assert "week_minutes" in errors_of(overtime_rule_set, **said, **LAW)
    assert OvertimeRule.objects.count() == before


@pytest.mark.parametrize(
    ("said", "field"),
    [({"day_minutes": 1_441}, "day_minutes"), ({"day_minutes": 600, "day_double_minutes": 480}, "day_double_minutes")],
)
def test_it_refuses_limits_out_of_order(stamp, said, field):
    assert field in errors_of(overtime_rule_set, stamp=stamp, from_day=SUNDAY, **said, **LAW)


def test_it_has_one_rule_a_place_and_day(stamp):
    said = {"stamp": stamp, "jurisdiction": build.JurisdictionFactory(), "from_day": SUNDAY, **LAW}
    overtime_rule_set(**said)
    assert errors_of(overtime_rule_set, **said) == ["from_day"]


def test_a_states_rule_is_never_weaker_than_the_federal_one():
    place = build.JurisdictionFactory()
    build.OvertimeRuleFactory(jurisdiction=None, week_minutes=2_100, day_minutes=540)
    build.OvertimeRuleFactory(jurisdiction=place, week_minutes=2_400, day_minutes=600, day_double_minutes=720)
    rule = overtime_rule(place, SUNDAY)
    assert rule is not None
    assert (rule.week_minutes, rule.day_minutes, rule.day_double_minutes) == (2_100, 540, 720)


def test_it_falls_back_to_the_federal_rule():
    assert overtime_rule(build.JurisdictionFactory(), SUNDAY) == overtime_rule(None, SUNDAY)


@pytest.fixture
def allowed(db):
    build.PayPolicyFactory(comp_time=True)


def agreed(stamp, **said):
    facts = {"person": build.PersonFactory(), "first_day": SUNDAY, "reference": "Letter"}
    return comp_time_agree(stamp=stamp, **{**facts, **said})


def test_it_records_an_agreement_and_its_end(stamp, allowed):
    agreement = agreed(stamp)
    comp_time_end(stamp=stamp, agreement=agreement, last_day=date(2027, 6, 26))
    assert CompTimeAgreement.objects.get().last_day == date(2027, 6, 26)


def test_an_agreement_ends_once(stamp, allowed):
    agreement = agreed(stamp)
    stale = CompTimeAgreement.objects.get()
    comp_time_end(stamp=stamp, agreement=agreement, last_day=date(2027, 6, 26))
    with pytest.raises(AgreementEnded):
        comp_time_end(stamp=stamp, agreement=stale, last_day=date(2027, 7, 3))
    assert CompTimeAgreement.objects.get().last_day == date(2027, 6, 26)


def test_an_agreement_does_not_end_before_it_begins(stamp, allowed):
    said = {"stamp": stamp, "agreement": agreed(stamp), "last_day": date(2027, 1, 2)}
    assert errors_of(comp_time_end, **said) == ["last_day"]


def test_it_takes_no_agreement_that_the_policy_does_not_allow(stamp):
    assert errors_of(agreed, stamp=stamp) == ["first_day"]


def test_it_takes_one_agreement_at_a_time(stamp, allowed):
    person = build.PersonFactory()
    agreed(stamp, person=person, last_day=date(2027, 6, 26))
    assert errors_of(agreed, stamp=stamp, person=person, first_day=date(2027, 6, 26)) == ["person"]
    agreed(stamp, person=person, first_day=date(2027, 6, 27))


def test_it_sets_what_a_volunteers_hour_counts(stamp):
    role = build.LaborRoleFactory()
    said = {"stamp": stamp, "person_type": "volunteer", "role": role, "from_day": SUNDAY, "rate_e4": 172_511, **LAW}
    rate = match_rate_set(fringe_e4=911, **said)
    assert MatchRate.objects.get() == rate
    told = json.dumps(Change.objects.get(entity_id=rate.public_id).after)
    assert not any(figure in told for figure in ("172511", "911"))
    assert errors_of(match_rate_set, **said) == ["from_day"]


@pytest.mark.parametrize(("field", "wrong"), [("person_type", "staff"), ("rate_e4", -1), ("source", "")])
def test_it_refuses_a_match_rate_that_is_none(stamp, field, wrong):
    facts = {"person_type": "loaned", "role": build.LaborRoleFactory(), "from_day": SUNDAY, "rate_e4": 1, **LAW}
    assert field in errors_of(match_rate_set, stamp=stamp, **{**facts, field: wrong})


def test_it_sets_how_stock_is_valued(stamp):
    policy = stock_policy_set(stamp=stamp, from_day=SUNDAY, valuation="fifo", **LAW)
    assert StockPolicy.objects.get(valuation="fifo") == policy
    assert errors_of(stock_policy_set, stamp=stamp, from_day=SUNDAY, valuation="guess", **LAW)


@pytest.mark.parametrize("read", [pay_rates, overtime_rules, match_rates])
def test_it_tells_finance_alone(read):
    with pytest.raises(RoleMissing):
        read(build.UserFactory(roles=["coordinator"]))
