"""The day at the site: a day alone stays, a time with its offset falls on the day that it was there."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from orders.sites.geofiles.mapping import IDENTITY, FieldMapping, mapping_from_document
from orders.sites.geofiles.records import Checked, KnownSite
from tests.sites.geofiles.made import GOOD, KNOWN, check

EASTERN = KnownSite(time_zone="America/New_York")
THERE = replace(KNOWN, sites={"MILL": EASTERN, "FARM": KnownSite(time_zone="America/Los_Angeles")})
NOON = {"patch_code": "P0", "observed_on": "2026-05-20T16:00:00Z"}


def checked(*days: Any, mapping: FieldMapping = IDENTITY, **more: Any) -> Checked:
    rows = [{"patch_code": f"P{place}", "observed_on": day, **more} for place, day in enumerate(days)]
    return check(*rows, mapping=mapping, known=THERE)


def formatted(day_format: str) -> FieldMapping:
    day = {"column": "observed_on", "format": day_format}
    return mapping_from_document({"columns": {**{name: name for name in GOOD}, "observed_on": day}})


def days(found: Checked) -> list[str]:
    assert not found.errors
    return [row.observed_on.isoformat() for row in found.rows]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-05-21T02:10:00Z", "2026-05-20"),
        ("2026-05-21 02:10:00+00:00", "2026-05-20"),
        ("2026/05/21 02:10:00+00", "2026-05-20"),
        ("2026-05-21T02:10:00.123Z", "2026-05-20"),
        ("2026-05-21 02:10 UTC", "2026-05-20"),
        ("2026-05-21T15:10:00Z", "2026-05-21"),
        ("2026-05-21T02:10:00-04:00", "2026-05-21"),
        ("2026-05-20T22:10:00-0700", "2026-05-21"),
        ("2026-05-21T02:10:00+09:30", "2026-05-20"),
        ("2026-05-21T02:10:00", "2026-05-21"),
        ("2026-05-21 00:00:00", "2026-05-21"),
        ("2026-05-21", "2026-05-21"),
        ("2026-01-21T04:30:00Z", "2026-01-20"),
        ("2026-05-21T04:30:00Z", "2026-05-21"),
    ],
)
def test_it_takes_the_day_at_the_site(text: str, day: str) -> None:
    assert days(checked(text)) == [day]


def test_each_row_goes_by_its_own_site() -> None:
    evening = "2026-05-21T05:30:00Z"
    assert days(checked(evening)) == ["2026-05-21"]
    assert days(checked(evening, site_code="FARM")) == ["2026-05-20"]


def test_it_says_once_that_days_are_others_than_are_written() -> None:
    (warning,) = checked("2026-05-21T02:10:00Z", "2026-05-20T16:00:00Z", "2026-05-22T03:00:00Z").warnings
    assert (warning.row, warning.field, warning.code) == (0, "observed_on", "day_at_site")
    assert warning.reason.startswith("2 rows have another day at the site than is written")
    assert warning.reason.endswith("Row 1: 2026-05-21T02:10:00Z is 2026-05-20 in America/New_York.")


def test_days_that_a_program_wrote_as_midnight_stay() -> None:
    found = checked("2026-05-21T00:00:00Z", "2026-05-22T00:00:00Z")
    assert [row.observed_on for row in found.rows] == [date(2026, 5, 21), date(2026, 5, 22)]
    assert [each.code for each in found.warnings] == ["day_in_utc"]


def test_one_midnight_among_times_is_a_time() -> None:
    assert days(checked("2026-05-21T00:00:00Z", "2026-05-21T14:20:00Z")) == ["2026-05-20", "2026-05-21"]


def test_times_without_an_offset_are_not_spoken_of() -> None:
    assert not checked("2026-05-21T02:10:00", "2026-05-20").warnings


def test_milliseconds_are_moments() -> None:
    at_0210, at_1600 = 1779329400000, 1779292800000
    found = checked(at_0210, at_1600, mapping=formatted("milliseconds"))
    assert days(found) == ["2026-05-20", "2026-05-20"]
    assert days(checked(1779321600000, mapping=formatted("milliseconds"))) == ["2026-05-21"]


def test_a_format_may_tell_the_offset() -> None:
    found = checked("05/21/2026 02:10 +0000", mapping=formatted("%m/%d/%Y %H:%M %z"))
    assert days(found) == ["2026-05-20"]


def test_the_future_is_that_of_the_site() -> None:
    assert days(checked("2026-11-26T03:00:00Z")) == ["2026-11-25"]
    assert [each.code for each in checked("2026-11-26T13:00:00Z").errors] == ["date_in_future"]


def test_without_a_zone_the_day_is_as_written() -> None:
    found = check({"observed_on": "2026-05-21T02:10:00Z"})
    assert days(found) == ["2026-05-21"]
    assert not found.warnings


@pytest.mark.parametrize("text", ["2026-05-21T25:10:00Z", "2026-05-21T02:10:00+25:00"])
def test_a_time_that_is_none_leaves_the_day(text: str) -> None:
    assert days(checked(text)) == ["2026-05-21"]


def test_a_day_that_is_none_is_an_error() -> None:
    assert [each.code for each in checked("2026-02-30T02:10:00Z").errors] == ["date_unreadable"]
