"""Business days against published figures.

Holidays: the calendar of the U.S. Office of Personnel Management for 2026 and 2027 (opm.gov, Federal Holidays; from
memory). The due day of a record: three business days after Thursday, July 2, 2026 is Wednesday, July 8, since Friday,
July 3, is the holiday (the rule: Missouri, 2 CSR 70-25.120; the day computed by hand).
"""

from datetime import date

import pytest

from orders.common.business_days import business_days_after, federal_holidays

KEPT = {
    2026: [(1, 1), (1, 19), (2, 16), (5, 25), (6, 19), (7, 3), (9, 7), (10, 12), (11, 11), (11, 26), (12, 25)],
    2027: [(1, 1), (1, 18), (2, 15), (5, 31), (6, 18), (7, 5), (9, 6), (10, 11), (11, 11), (11, 25), (12, 24)],
}


@pytest.mark.parametrize("year", KEPT)
def test_it_has_the_published_holidays(year):
    assert federal_holidays(year) == [date(year, *day) for day in KEPT[year]]


def test_it_keeps_a_new_year_on_a_saturday_in_the_year_before():
    assert federal_holidays(2028)[0] == date(2027, 12, 31)
    assert business_days_after(date(2027, 12, 30), 1) == date(2028, 1, 3)


def test_it_has_no_juneteenth_before_the_law():
    assert date(2020, 6, 19) not in federal_holidays(2020)


@pytest.mark.parametrize(
    ("used_on", "due_on"),
    [
        (date(2026, 7, 2), date(2026, 7, 8)),
        (date(2026, 7, 6), date(2026, 7, 9)),
        (date(2026, 11, 25), date(2026, 12, 1)),  # Thanksgiving Day and a weekend between
        (date(2026, 11, 28), date(2026, 12, 2)),  # a use on a Saturday
    ],
)
def test_it_counts_three_business_days(used_on, due_on):
    assert business_days_after(used_on, 3) == due_on
