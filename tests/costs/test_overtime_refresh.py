"""A workweek's overtime premium: from all hours of the week, spread over its work, and figured anew when hours come."""

from datetime import UTC, date, datetime, timedelta

import pytest

from orders.common.models import Change
from orders.costs.models import (
    CompTimeAgreement,
    LedgerEntry,
    MatchRate,
    OvertimeRule,
    PayPolicy,
    Period,
    WorkweekPremium,
)
from orders.costs.services.overtime import overtime_refresh
from tests import build
from tests.costs.weeks import MONDAY, SUNDAY, Weeks, cents, newest, standing

pytestmark = pytest.mark.django_db
FULL = [(day, 480) for day in range(1, 6)]  # Monday to Friday, 40 h


@pytest.fixture
def weeks():
    return Weeks()


def _policy(**said):
    return PayPolicy.objects.create(from_day=date(2027, 1, 1), source="The program's own", **said)


def _days(person, *days):
    return [(person, day, minutes) for day, minutes in days]


def _premium():
    return standing(category="premium")


def test_it_pays_half_again_for_what_passes_forty_hours(weeks):
    person = weeks.person(rate_e4=120_000)
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 360)))
    week = newest(person)
    # $12 an hour, 46 h: a premium of 6 x $6 (29 CFR 778.110(a))
    assert (week.worked_minutes, week.overtime_minutes, week.premium_cents) == (2760, 360, 3600)
    assert week.regular_rate_e4 == 120_000
    assert cents(_premium()) == 3600


def test_it_makes_nothing_of_a_week_of_forty_hours(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *FULL))
    assert (WorkweekPremium.objects.count(), _premium().count()) == (0, 0)


def test_it_traces_each_row_to_its_order_person_and_day(weeks):
    person = weeks.person()
    first, second = weeks.order(), weeks.order()
    weeks.close(first, *_days(person, *FULL))
    weeks.close(second, (person, 6, 240))
    rows = _premium()
    assert {(row.order, row.work_date) for row in rows} == {
        *((first, SUNDAY + timedelta(days=day)) for day in range(1, 6)),
        (second, SUNDAY + timedelta(days=6)),
    }
    assert {(row.person, row.source_kind, row.quantity, row.book) for row in rows} == {(person, "overtime", 0, "cost")}
    # 4 h over, half of $20: $40 by minutes over 44 h
    assert cents(rows) == 4000
    assert cents(row for row in rows if row.order == second) == pytest.approx(4000 * 4 / 44, abs=1)


def test_it_lays_it_on_the_work_beyond_the_threshold_where_the_policy_says_so(weeks):
    _policy(spread="overtime")
    person = weeks.person()
    first, second = weeks.order(), weeks.order()
    weeks.close(second, (person, 6, 240))
    weeks.close(first, *_days(person, *FULL))
    assert [(row.order, row.amount_cents, row.work_date.isoformat()) for row in _premium()] == [
        (second, 4000, "2027-02-13")
    ]


def test_it_is_borne_like_the_labor_of_the_order(weeks):
    award = build.AwardFactory(fund=build.FundFactory(code="GRANT", budget_cents=None))
    person = weeks.person()
    order = weeks.order(prescriptions=2, shares=[(weeks.fund, None, 2_500), (award.fund, award, 7_500)])
    weeks.close(order, *_days(person, *FULL, (6, 240)))
    by_fund = {code: cents(_premium().filter(fund__code=code)) for code in ("OPS", "GRANT")}
    assert by_fund == {"OPS": pytest.approx(1000, abs=6), "GRANT": pytest.approx(3000, abs=6)}
    assert sum(by_fund.values()) == 4000
    assert _premium().values("prescription").distinct().count() == 2


def test_it_figures_the_week_anew_when_hours_come_late(weeks):
    person = weeks.person()
    first, second = weeks.order(), weeks.order()
    weeks.close(first, *_days(person, *FULL, (6, 60)))
    before = list(_premium())
    weeks.close(second, (person, 6, 120), at=datetime(2027, 3, 3, 15, tzinfo=UTC))
    assert [week.revision for week in WorkweekPremium.objects.order_by("id")] == [1, 2]
    assert cents(_premium()) == newest(person).premium_cents == 3000
    taken_back = LedgerEntry.objects.filter(reverses__in=before)
    assert taken_back.count() == len(before)
    assert {row.posting_month for row in [*taken_back, *_premium()]} == {date(2027, 3, 1)}


def test_it_posts_in_the_open_period(weeks):
    Period.objects.create(first_day=date(2027, 2, 1), state="closed")
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 60)))
    assert {row.posting_month for row in _premium()} == {date(2027, 3, 1)}


def test_it_takes_it_back_when_the_hours_were_wrong(weeks):
    person, order = weeks.person(), weeks.order()
    weeks.close(order, *_days(person, *FULL, (6, 240)))
    weeks.amend(order, *_days(person, *FULL))
    assert (newest(person).revision, newest(person).premium_cents, _premium().count()) == (2, 0, 0)
    assert cents(LedgerEntry.objects.filter(category="premium")) == 0
    weeks.amend(order, *_days(person, *FULL, (6, 240)))
    assert (newest(person).revision, cents(_premium())) == (3, 4000)


def test_it_goes_to_whoever_worked_after_an_amendment(weeks):
    person, other, order = weeks.person(), weeks.person("P. Sedge", 300_000), weeks.order()
    weeks.close(order, *_days(person, *FULL, (6, 240)))
    weeks.amend(order, *_days(other, *FULL, (6, 240)))
    assert (newest(person).premium_cents, newest(other).premium_cents) == (0, 6000)
    assert {row.person for row in _premium()} == {other}


def test_it_makes_no_revision_where_nothing_changed(weeks):
    person, order = weeks.person(), weeks.order()
    weeks.close(order, *_days(person, *FULL, (6, 240)))
    before = LedgerEntry.objects.filter(category="premium").count()
    weeks.amend(order, *_days(person, *FULL, (6, 240)))
    again = overtime_refresh(people_weeks=[(person, MONDAY)], posted_on=MONDAY, stamp=weeks.stamp())
    assert (again, WorkweekPremium.objects.count()) == ([], 1)
    assert LedgerEntry.objects.filter(category="premium").count() == before


def test_it_counts_paid_time_that_is_no_order(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *FULL))
    weeks.sheet(person, 6, ("training", 180), ("drive", 60))
    rows = _premium()
    assert newest(person).overtime_minutes == 240
    assert {(row.work_code, row.order_id is None) for row in rows} >= {("training", True), ("drive", True)}
    assert (cents(rows), {row.fund for row in rows if row.order is None}) == (4000, {weeks.suspense})


def test_it_does_not_count_drive_that_an_order_bears_twice(weeks):
    person, order = weeks.person(), weeks.order()
    weeks.close(order, *_days(person, *FULL, (6, 60)))
    weeks.sheet(person, 6, ("work", 40, order), ("drive", 20))
    assert newest(person).worked_minutes == 2460


def test_it_does_not_count_leave(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *FULL))
    weeks.sheet(person, 6, ("leave", 480))
    assert newest(person) is None


def test_it_lets_each_week_stand_alone(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *[(day, 600) for day in range(4, 10)]))
    assert newest(person) is None
    assert newest(person, SUNDAY + timedelta(days=7)) is None
    assert _premium().count() == 0  # 30 h in each: 29 CFR 778.104


def test_it_begins_the_week_as_the_policy_says(weeks):
    _policy(week_starts_on=2)  # Wednesday
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *[(day, 600) for day in range(3, 8)]))
    assert newest(person, SUNDAY + timedelta(days=3)).overtime_minutes == 600


def test_it_gives_a_day_to_the_week_in_which_most_of_it_lies(weeks):
    _policy(week_starts_on=5, week_starts_minute=1080)  # Saturday, 6 p.m.
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *[(day, 600) for day in range(2, 7)]))
    assert newest(person, SUNDAY).overtime_minutes == 600


def test_it_takes_the_strictest_rule_of_the_week(weeks):
    strict = build.JurisdictionFactory(code="ZZ")
    OvertimeRule.objects.create(jurisdiction=strict, from_day=date(2026, 1, 1), day_minutes=480, source="Invented")
    person = weeks.person()
    weeks.close(weeks.order(), (person, 1, 600))
    assert newest(person) is None
    weeks.close(weeks.order(site=build.SiteFactory(jurisdiction=strict)), (person, 2, 300))
    assert newest(person).overtime_minutes == 120


def test_it_averages_the_rates_of_the_week(weeks):
    person = weeks.person(rate_e4=150_000)
    build.PayRateFactory(person=person, from_day=SUNDAY + timedelta(days=6), rate_e4=70_000)
    weeks.close(weeks.order(), *_days(person, *[(day, 420) for day in range(1, 6)], (6, 600)))
    # 35 h at $15 and 10 h at $7: $595 / 45 h, half of it for 5 h = $33.06 (29 CFR 778.115)
    assert newest(person).premium_cents == 3306
    assert newest(person).regular_rate_e4 == 132_222


def test_it_figures_from_the_wage_and_not_from_the_loaded_rate(weeks):
    person = weeks.person(rate_e4=300_000, wage_e4=200_000)
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 240)))
    assert newest(person).premium_cents == 4000


def test_it_adds_payroll_taxes_where_the_policy_says_so(weeks):
    _policy(premium_fringe_e4=765)
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 240)))
    assert newest(person).premium_cents == cents(_premium()) == 4306
    assert [line["cents"] for line in newest(person).lines if "Payroll taxes" in line.get("words", "")] == [306]


def test_it_gives_time_off_instead_by_agreement(weeks):
    _policy(comp_time=True)
    person = weeks.person()
    CompTimeAgreement.objects.create(person=person, first_day=SUNDAY, reference="Letter of January 4")
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 242)))
    week = newest(person)
    assert (week.premium_cents, week.comp_minutes, week.overtime_minutes) == (0, 363, 242)
    assert _premium().count() == 0


@pytest.mark.parametrize("said", [{"first_day": MONDAY}, {"first_day": date(2026, 1, 1), "last_day": MONDAY}])
def test_it_pays_the_premium_where_the_agreement_does_not_cover_the_week(weeks, said):
    _policy(comp_time=True)
    person = weeks.person()
    CompTimeAgreement.objects.create(person=person, reference="Letter of January 4", **said)
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 240)))
    assert (newest(person).premium_cents, newest(person).comp_minutes) == (4000, 0)


@pytest.mark.parametrize("person_type", ["volunteer", "loaned"])
def test_it_knows_no_premium_of_people_who_are_not_paid_here(weeks, person_type):
    person = weeks.person(person_type=person_type)
    build.StandardRateFactory(role=weeks.role, from_day=date(2026, 1, 1), rate_e4=240_000)
    MatchRate.objects.create(
        person_type=person_type, role=weeks.role, from_day=date(2026, 1, 1), rate_e4=172_500, source="Own grade"
    )
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 600)))
    assert newest(person) is None
    labor = standing(category="labor", book="cost")
    assert (cents(labor), sum(row.quantity for row in labor)) == (0, 3000)


def test_it_puts_no_amount_into_the_feed_of_changes(weeks):
    person = weeks.person()
    weeks.close(weeks.order(), *_days(person, *FULL, (6, 240)))
    [told] = Change.objects.filter(entity="workweekpremium")
    assert (told.after, told.audience.count()) == ({"week_start": "2027-02-07", "revision": 1}, 0)


def test_it_holds_what_an_award_may_not_take(weeks):
    fund = build.FundFactory(code="GRANT", budget_cents=None)
    award = build.AwardFactory(fund=fund, first_day=date(2026, 1, 1), last_day=SUNDAY + timedelta(days=5))
    person = weeks.person()
    weeks.close(weeks.order(shares=[(fund, award, 10_000)]), *_days(person, *FULL, (6, 240)))
    assert {row.work_date for row in _premium().filter(fund=weeks.suspense)} == {SUNDAY + timedelta(days=6)}
    assert cents(_premium()) == 4000
