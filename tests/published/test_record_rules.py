"""Terms and years of the states' rules on records, as the sources read tell them.

Ohio Administrative Code 901:5-11-10 (same date; 3 years); Missouri 2 CSR 70-25.120 (three business days; 3 years);
302 KAR 26:030 (3 years); 8 Ill. Adm. Code 250.150 (2 years); COMAR 15.05.01.12 (2 years);
40 CFR 171.303(b)(7) (2 years); 355 IAC 4-4-1.5 and 357 IAC 1-15-4 (30th day; 2 years: private and golf applicators).
Missouri's due day is worked out with federal holidays: July 3, 2026 is kept for July 4.
Illinois volunteers: 8 Ill. Adm. Code 250.220, as quoted in 2011.
"""

from datetime import date

import pytest

from orders.workorders.models import RecordProfile
from orders.workorders.records.rules import Rules, record_due

pytestmark = pytest.mark.django_db

USED = date(2026, 7, 2)
KEPT = {"OH": 3, "MO": 3, "KY": 3, "IL": 2, "MD": 2, "US": 2, "IN": 2, "CA": 2}


def rule(jurisdiction):
    return RecordProfile.objects.get(jurisdiction=jurisdiction)


@pytest.mark.parametrize(("jurisdiction", "years"), KEPT.items())
def test_it_keeps_records_as_long_as_the_source_says(jurisdiction, years):
    assert rule(jurisdiction).keep_years == years


@pytest.mark.parametrize(("jurisdiction", "due_on"), [("OH", USED), ("MO", date(2026, 7, 8)), ("IN", date(2026, 8, 1))])
def test_it_wants_a_record_as_soon_as_the_source_says(jurisdiction, due_on):
    in_force = Rules.read().of(jurisdiction, USED)
    assert in_force is not None
    assert record_due(in_force, USED) == due_on


def test_it_says_so_where_no_term_was_found():
    for jurisdiction in ("KY", "IL", "MD", "CO", "US"):
        assert "term was not found" in rule(jurisdiction).not_found


def test_it_requires_nothing_that_the_source_was_cut_off_before():
    unseen = {"registration_number", "amount", "rate", "wind", "air_temperature", "equipment"}
    assert not unseen & set(rule("MO").required)
    assert not {"amount", "date", "start_time", "applicator", "area_treated"} & set(rule("CO").required)


@pytest.mark.parametrize(
    ("code", "places"),
    [
        ("end_time", {"MO", "OH", "IN"}),
        ("rate", {"IL", "MD", "CO"}),
        ("target_pest", {"MO", "IN", "MD", "CO"}),
        ("license_number", {"US", "KY", "MO", "IN"}),
        ("wind", {"MD"}),
        ("language", {"OH"}),
    ],
)
def test_it_requires_a_field_where_the_sources_do(code, places):
    required = RecordProfile.objects.exclude(jurisdiction="")
    assert {row.jurisdiction for row in required if code in row.required} == places


def test_it_lets_volunteers_apply_and_makes_crews_carry_the_order_where_the_sources_do():
    volunteers = RecordProfile.objects.filter(volunteers_may_apply=True)
    assert [(row.jurisdiction, row.volunteer_signal_words) for row in volunteers] == [("IL", ["CAUTION"])]
    assert [row.jurisdiction for row in RecordProfile.objects.filter(must_carry_order=True)] == ["MO"]
