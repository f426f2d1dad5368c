"""Which rule holds where and when; the first ones are those of the facts, none of them reviewed."""

from datetime import date

import pytest

from orders.workorders.models import RecordProfile
from orders.workorders.records.fields import CODES
from orders.workorders.records.rules import Rules, kept_until, record_due, years_after
from tests import build

pytestmark = pytest.mark.django_db

DAY = date(2026, 7, 2)


def in_force(jurisdiction, day):
    found = Rules.read().of(jurisdiction, day)
    assert found is not None
    return found


def test_it_begins_with_the_rules_of_the_facts_unreviewed():
    rows = RecordProfile.objects.all()
    assert {row.jurisdiction for row in rows} == {"", "US", "KY", "MO", "IL", "OH", "IN", "CA", "MD", "CO"}
    assert all(row.reviewed_on is None and row.source for row in rows)
    assert {code for row in rows for code in [*row.required, *row.if_applicable]} <= set(CODES)


def test_it_knows_the_rule_in_force_else_the_programs_own():
    build.RecordProfileFactory(jurisdiction="Q1", first_day=date(2027, 1, 1))
    assert in_force("Q1", date(2027, 1, 1)).jurisdiction == "Q1"
    assert in_force("Q1", DAY).jurisdiction == ""
    assert in_force("MO", date(2024, 12, 31)).jurisdiction == ""


def test_it_knows_no_rule_where_even_the_programs_own_has_ended():
    RecordProfile.objects.filter(jurisdiction="").update(last_day=date(2026, 1, 1))
    assert Rules.read().of("Q1", DAY) is None


@pytest.mark.parametrize(
    ("jurisdiction", "due_on"),
    [("OH", DAY), ("MO", date(2026, 7, 8)), ("IN", date(2026, 8, 1)), ("KY", date(2026, 7, 16))],
)
def test_it_counts_the_term_as_the_rule_does(jurisdiction, due_on):
    assert record_due(in_force(jurisdiction, DAY), DAY) == due_on


def test_it_keeps_a_record_for_the_longest_term_that_may_apply():
    rules = Rules.read()
    assert kept_until(rules, "OH", DAY, DAY) == date(2029, 7, 2)
    assert kept_until(rules, "MD", DAY, DAY) == date(2028, 7, 2)
    RecordProfile.objects.filter(jurisdiction="US").update(keep_years=5)
    assert kept_until(Rules.read(), "OH", DAY, DAY) == date(2031, 7, 2)


def test_it_counts_from_a_late_record_and_longer_where_other_rules_say_so():
    rules, late = Rules.read(), date(2026, 9, 1)
    assert kept_until(rules, "OH", DAY, late) == date(2029, 9, 1)
    assert kept_until(rules, "OH", DAY, DAY, date(2032, 1, 1)) == date(2032, 1, 1)
    assert kept_until(rules, "OH", DAY, DAY, date(2027, 1, 1)) == date(2029, 7, 2)


def test_it_knows_the_day_after_a_leap_day():
    assert (years_after(date(2028, 2, 29), 4), years_after(date(2028, 2, 29), 3)) == (
        date(2032, 2, 29),
        date(2031, 3, 1),
    )
