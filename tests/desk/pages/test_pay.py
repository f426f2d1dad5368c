"""The pages of pay: who may read them, that figures come out as they were typed, and that what is wrong is told."""

from datetime import date

import pytest
from django.urls import reverse

from orders.costs.models import CompTimeAgreement, MatchRate, OvertimeRule, PayPolicy, PayRate
from tests import build

pytestmark = pytest.mark.django_db
PAGES = [
    "pay",
    "pay-new",
    "pay-rules",
    "pay-policy-new",
    "overtime-rule-new",
    "comp-time",
    "comp-time-new",
    "match-rates",
    "match-rate-new",
    "try-week",
]


def text(page):
    return page.content.decode()


@pytest.mark.parametrize("name", PAGES)
def test_it_opens_to_finance(as_finance, name):
    assert as_finance.get(reverse(name)).status_code == 200


@pytest.mark.parametrize("name", PAGES)
def test_it_is_closed_to_the_coordinator(client, coordinator, name):
    build.PayRateFactory(rate_e4=987_600)
    client.force_login(coordinator)
    page = client.get(reverse(name))
    assert page.status_code == 403
    assert "98.76" not in text(page)


def test_it_lists_rates_with_how_they_came_about(as_finance):
    build.PayRateFactory(wage_e4=240_000, fringe_e4=1_000, yearly_cents=0, paid_hours=2080, productive_hours=2080)
    page = text(as_finance.get(reverse("pay")))
    assert "($24.00/h × 2,080 h × (1 + 10%) + $0.00) ÷ 2,080 h" in page


def test_it_finds_people_by_letters_of_their_name(as_finance):
    for name in ("Mara Reed", "Otto Quince"):
        build.PayRateFactory(person=build.PersonFactory(name=name))
    page = text(as_finance.get(reverse("pay"), {"q": "reed"}))
    assert "Mara Reed" in page
    assert "Otto Quince" not in page
    assert "Nobody of this name" in text(as_finance.get(reverse("pay"), {"q": "zz"}))


def test_it_turns_pages(as_finance):
    build.PayRateFactory.create_batch(51)
    assert "Rows 51 to 51 of 51" in text(as_finance.get(reverse("pay"), {"page": 2}))


def loaded(**said):
    person = build.PersonFactory(name="Mara Reed")
    usual = {"person": person.public_id, "from_day": "2027-01-01", "wage_e4": "28.20", "fringe_e4": "25"}
    return {**usual, "yearly_cents": "4260", "paid_hours": "2080", "productive_hours": "1800", **said}


def test_it_sets_a_rate_from_dollars_and_percent(as_finance):
    assert as_finance.post(reverse("pay-new"), loaded()).url == reverse("pay")
    rate = PayRate.objects.get()
    assert (rate.wage_e4, rate.fringe_e4, rate.yearly_cents, rate.rate_e4) == (282_000, 2_500, 426_000, 431_000)


def test_it_figures_a_rate_and_keeps_nothing(as_finance):
    page = as_finance.post(reverse("pay-new"), loaded(figure="1"))
    assert "÷ 1,800 h = $43.10/h" in text(page)
    assert not PayRate.objects.exists()


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"rate_e4": "40"}, "give another rate"),
        ({"wage_e4": ""}, "needs the wage"),
        ({"productive_hours": "2100"}, "must not be more than the paid hours"),
        ({"from_day": "soon"}, "Enter a valid date"),
        ({"figure": "1", "wage_e4": ""}, "A wage is needed"),
    ],
)
def test_it_tells_what_is_wrong_with_a_rate(as_finance, said, told):
    page = as_finance.post(reverse("pay-new"), loaded(**said))
    assert page.status_code == 400
    assert told in text(page)
    assert not PayRate.objects.exists()


def test_it_fills_in_the_terms_of_the_newest_rate(as_finance):
    rate = build.PayRateFactory(wage_e4=240_000, fringe_e4=1_050, productive_hours=1_900, paid_hours=2_080)
    page = text(as_finance.get(reverse("pay-new"), {"person": rate.person.public_id}))
    assert 'value="24"' in page
    assert 'value="10.5"' in page
    assert f'value="{rate.person.public_id}" selected' in page


def policy(**said):
    usual = {"from_day": "2027-01-03", "week_starts_on": "6", "time_zone": "America/Chicago", "punch_minutes": "15"}
    ways = {"overtime_method": "weighted", "rounding": "exact", "spread": "week", "source": "Handbook"}
    return {**usual, **ways, "premium_fringe_e4": "7.65", "comp_time": "on", **said}


def test_it_sets_a_policy(as_finance):
    assert as_finance.post(reverse("pay-policy-new"), policy()).url == reverse("pay-rules")
    made = PayPolicy.objects.get(from_day=date(2027, 1, 3))
    assert (made.premium_fringe_e4, made.comp_time, made.punch_minutes) == (765, True, 15)


def test_it_tells_that_a_policy_begins_with_a_week(as_finance):
    page = as_finance.post(reverse("pay-policy-new"), policy(from_day="2027-01-04"))
    assert page.status_code == 400
    assert "begins with a workweek" in text(page)


def rule(**said):
    place = build.JurisdictionFactory()
    usual = {"jurisdiction": place.code, "from_day": "2027-01-01", "week_minutes": "40", "day_minutes": "8"}
    return {**usual, "source": "Statute", **said}


def test_it_adds_a_rule_of_overtime(as_finance):
    assert as_finance.post(reverse("overtime-rule-new"), rule(day_double_minutes="12")).url == reverse("pay-rules")
    made = OvertimeRule.objects.get(source="Statute")
    assert (made.week_minutes, made.day_minutes, made.day_double_minutes) == (2_400, 480, 720)
    assert "not reviewed" in text(as_finance.get(reverse("pay-rules")))


def test_nobody_sets_more_than_forty_hours(as_finance):
    page = as_finance.post(reverse("overtime-rule-new"), rule(week_minutes="40.5"))
    assert page.status_code == 400
    assert not OvertimeRule.objects.filter(source="Statute").exists()


def test_it_says_that_time_off_is_not_allowed(as_finance):
    page = text(as_finance.get(reverse("comp-time")))
    assert "does not allow it" in page
    assert reverse("comp-time-new") not in page


def test_it_records_an_agreement_and_ends_it(as_finance):
    build.PayPolicyFactory(comp_time=True)
    said = {"person": build.PersonFactory().public_id, "first_day": "2026-01-04", "reference": "Letter"}
    assert as_finance.post(reverse("comp-time-new"), said).status_code == 302
    agreement = CompTimeAgreement.objects.get()
    end = reverse("comp-time-end", args=[agreement.public_id])
    assert as_finance.get(end).status_code == 200
    assert as_finance.post(end, {"last_day": "2026-01-03"}).status_code == 400
    assert as_finance.post(end, {"last_day": "2026-06-27"}).status_code == 302
    assert "already" in text(as_finance.post(end, {"last_day": "2026-07-04"}))


def test_it_sets_a_rate_of_match(as_finance):
    role = build.LaborRoleFactory(code="helper")
    said = {"person_type": "volunteer", "role": "helper", "from_day": "2027-01-01", "rate_e4": "17.25"}
    assert as_finance.post(reverse("match-rate-new"), {**said, "source": "Our pay"}).status_code == 302
    assert (MatchRate.objects.get().role, MatchRate.objects.get().fringe_e4) == (role, 0)
    page = text(as_finance.get(reverse("match-rates")))
    assert "$17.25/h" in page
    assert "$29.95" in page


def week(**said):
    rules = {"week_minutes": "40", "method": "weighted", "rounding": "exact"}
    days = {f"day_{row}": "0" for row in range(10)}
    return {**rules, **days, **said}


def test_it_tries_a_week(as_finance):
    """29 CFR 778.110(b): 46 h at $12 with a bonus of $46."""
    worked = {"minutes_0": "23", "rate_0": "12", "minutes_1": "23", "rate_1": "12", "day_1": "5"}
    page = text(as_finance.post(reverse("try-week"), week(bonus_cents="46", **worked)))
    assert "($552.00 + $46.00) ÷ 46.00 h = $13.00/h" in page
    assert "$637.00" in page


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"minutes_0": "25"}, "less than or equal to 24"),
        ({"day_minutes": "10", "day_double_minutes": "8"}, "cannot begin before"),
        ({"week_minutes": "41"}, "less than or equal to 40"),
        ({"bonus_cents": "5"}, "needs work in the week"),
    ],
)
def test_it_tells_what_is_wrong_with_a_week(as_finance, said, told):
    page = as_finance.post(reverse("try-week"), week(**said))
    assert page.status_code == 400
    assert told in text(page)
