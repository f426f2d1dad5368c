"""Paid time that is no order posts from day sheets; time on orders never does."""

from datetime import UTC, date, datetime

import pytest

from orders import flow
from orders.costs.models import FundingRule, LedgerEntry
from orders.field.services.daysheets import LineStated
from tests import build
from tests.costs.weeks import Weeks, cents, standing

pytestmark = pytest.mark.django_db
LOADED = {"wage_e4": 180_000, "fringe_e4": 1_000, "paid_hours": 2_080, "productive_hours": 1_800}


@pytest.fixture
def weeks():
    return Weeks()


def _told(rows):
    return [(row.work_code, row.quantity, row.amount_cents) for row in rows]


def test_it_posts_each_code_at_the_persons_rate(weeks):
    person = weeks.person(rate_e4=240_000)
    sheet = weeks.sheet(person, 1, ("shop", 60), ("training", 30), ("shop", 15), ("repair", 45))
    rows = standing(source_kind="day_line")
    assert _told(rows) == [("repair", 45, 1800), ("shop", 75, 3000), ("training", 30, 1200)]
    assert {(row.person, row.category, row.order, row.work_date, row.revision, row.crew_name) for row in rows} == {
        (person, "labor", None, sheet.work_date, 1, "Hollow crew")
    }


def test_it_leaves_time_on_orders_to_the_close_out(weeks):
    person, order = weeks.person(), weeks.order()
    weeks.sheet(person, 1, ("work", 300, order), ("drive", 60), ("rain", 20), ("drive", 10, order))
    assert LedgerEntry.objects.count() == 0


def test_it_posts_drive_and_standby_of_a_day_without_an_order(weeks):
    weeks.sheet(weeks.person(), 1, ("drive", 60), ("rain", 120))
    assert _told(standing()) == [("drive", 60, 2000), ("rain", 120, 4000)]


def test_it_is_paid_by_the_rule_of_its_code(weeks):
    fund = build.FundFactory(code="SHOP", budget_cents=None)
    rule = FundingRule.objects.create(name="The shop", work_code="shop", from_day=date(2026, 1, 1))
    rule.shares.create(fund=fund, share_e4=10_000)
    weeks.sheet(weeks.person(), 1, ("shop", 60), ("training", 60))
    assert {row.work_code: row.fund for row in standing()} == {"shop": fund, "training": weeks.suspense}


def test_it_posts_leave_where_the_rate_does_not_hold_it(weeks):
    weeks.sheet(weeks.person(), 1, ("leave", 480))
    assert _told(standing()) == [("leave", 480, 16_000)]


def test_it_skips_leave_that_is_inside_the_rate(weeks):
    """2 CFR 200.431(b): leave is a fringe benefit; a rate by productive hours holds it already."""
    weeks.sheet(weeks.person(**LOADED), 1, ("leave", 240), ("shop", 240))
    assert _told(standing()) == [("shop", 240, 8_000)]


def test_it_posts_leave_where_every_paid_hour_counts_as_productive(weeks):
    weeks.sheet(weeks.person(**LOADED | {"productive_hours": 2_080}), 1, ("leave", 60))
    assert _told(standing()) == [("leave", 60, 2_000)]


def test_it_takes_back_what_an_amended_sheet_posted(weeks):
    person = weeks.person()
    weeks.sheet(person, 1, ("shop", 480))
    weeks.sheet(person, 1, ("shop", 420), ("leave", 60), at=datetime(2027, 3, 2, 15, tzinfo=UTC))
    assert _told(standing()) == [("leave", 60, 2_000), ("shop", 420, 14_000)]
    [reversal] = LedgerEntry.objects.filter(reverses__isnull=False)
    assert (reversal.amount_cents, reversal.posting_month) == (-16_000, date(2027, 3, 1))
    assert cents(LedgerEntry.objects.all()) == 16_000


def test_it_posts_a_sheet_that_comes_twice_once(weeks):
    person = weeks.person()
    sheet = weeks.sheet(person, 1, ("shop", 480))
    again = type(sheet)(**{name: getattr(sheet, name) for name in ("public_id", "at", "crew", "person", "work_date")})
    again.rule, again.confirmed_by = sheet.rule, sheet.confirmed_by
    lines = [LineStated("shop", 480, "typed")]
    assert flow.confirm_day_sheet(sheet=again, lines=lines, stamp=weeks.stamp()) == sheet
    assert LedgerEntry.objects.count() == 1


def test_it_counts_a_volunteers_minutes_at_no_cost(weeks):
    weeks.sheet(weeks.person(person_type="volunteer"), 1, ("training", 90))
    assert _told(standing()) == [("training", 90, 0)]


def test_it_keeps_nothing_where_a_part_fails(weeks):
    weeks.suspense.__class__.objects.all().delete()
    person = weeks.person()
    with pytest.raises(Exception, match="suspense"):
        weeks.sheet(person, 1, ("shop", 480))
    assert not person.day_sheets.exists()
