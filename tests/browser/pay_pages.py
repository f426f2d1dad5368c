"""The pages of pay in the states that look different; names and figures are made up."""

from datetime import date

from django.urls import reverse

from orders.costs.models import PayRate
from tests import build

LOADED = {"fringe_e4": 2_500, "yearly_cents": 426_000, "paid_hours": 2_080, "productive_hours": 1_800}


def _rates() -> PayRate:
    mara, otto = (build.PersonFactory(name=name) for name in ("Mara Reed", "Otto Quince of the lower river bottoms"))
    role = build.LaborRoleFactory(code="instructor", name="Instructor")
    build.PayRateFactory(person=mara, role=role, from_day=date(2026, 7, 1), rate_e4=505_025)
    build.PayRateFactory(person=otto)
    rate: PayRate = build.PayRateFactory(person=mara, wage_e4=282_000, rate_e4=431_000, **LOADED)
    return rate


def rates() -> str:
    _rates()
    return reverse("pay")


def rate_next() -> str:
    return f"{reverse('pay-new')}?person={_rates().person.public_id}"


def rules() -> str:
    build.PayPolicyFactory(overtime_method="rate_worked", spread="overtime", punch_minutes=15, premium_fringe_e4=765)
    build.OvertimeRuleFactory(day_double_minutes=720, seventh_day=True)
    build.OvertimeRuleFactory(jurisdiction__code="ZZ", day_minutes=None, reviewed_by="P. Ledgerwood")
    return reverse("pay-rules")


def comp_time() -> str:
    build.PayPolicyFactory(comp_time=True)
    build.CompTimeAgreementFactory(person__name="Mara Reed")
    build.CompTimeAgreementFactory(person__name="Otto Quince", last_day=date(2026, 6, 27))
    return reverse("comp-time")


def match_rates() -> str:
    build.MatchRateFactory()
    build.MatchRateFactory(person_type="loaned", role__code="applicator", fringe_e4=2_500)
    return reverse("match-rates")
