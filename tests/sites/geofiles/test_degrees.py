"""Degrees as people write them. The figures are worked by hand: 12' 34.5" is 754.5 of 3600 seconds, 41' 3" is 2463."""

import pytest

from orders.sites.geofiles.degrees import (
    LATITUDE,
    LONGITUDE,
    PAIRS,
    Axis,
    Written,
    fields_read,
    parse_coordinate,
    parse_pair,
)

NORTH, WEST = 38 + 754.5 / 3600, -(85 + 2463 / 3600)
LATITUDE_FIRST, LONGITUDE_FIRST = PAIRS["latitude_longitude"], PAIRS["longitude_latitude"]
COMMAS = Written(decimal_comma=True)


@pytest.mark.parametrize(
    "text",
    [
        "38°12'34.5\"N",
        "38° 12′ 34.5″ N",
        "38º12’34.5”N",
        "38°12'34.5''N",
        "38Â°12'34.5\"N",
        "38 12 34.5 N",
        "N 38 12 34.5",
        "N38 12.575",
        "38:12:34.5",
        "38-12-34.5n",
        "38d12'34.5\"N",
        "38 deg 12 min 34.5 sec north",
        "38deg12min34.5secs N.",
        "38 12 34,5",
        "+38 12.575",
        "38.20958333333333333 N",
        "38.20958333333333333°",
    ],
)
def test_it_reads_a_latitude(text: str) -> None:
    assert parse_coordinate(text, LATITUDE) == pytest.approx(NORTH, abs=1e-12)


@pytest.mark.parametrize(
    "text", ["-85:41:03", "−85 41 3", "85 41 3 W", "85°41'3\"W", "W85 41.05", "-85 41 3 W", "085-41-03W", "W -85 41.05"]
)
def test_west_is_negative_by_sign_and_by_letter(text: str) -> None:
    assert parse_coordinate(text, LONGITUDE) == pytest.approx(WEST, abs=1e-12)


def test_a_sign_holds_for_minutes_where_there_are_no_degrees() -> None:
    assert (parse_coordinate("-0 30", LATITUDE), parse_coordinate("0 30 S", LATITUDE)) == (-0.5, -0.5)


@pytest.mark.parametrize("text", ["-85.7003", "38.2", "1200000", "+7.", ".5", "1e2"])
def test_a_plain_number_stays_what_it_is(text: str) -> None:
    assert parse_coordinate(text, LATITUDE) == float(text)
    assert parse_coordinate(text, LATITUDE, Written(in_degrees=False)) == float(text)


def test_a_comma_is_a_decimal_point_where_the_table_writes_so() -> None:
    assert parse_coordinate("-85,7", LONGITUDE, COMMAS) == -85.7
    assert parse_coordinate("85,7 W", LONGITUDE, COMMAS) == -85.7
    with pytest.raises(ValueError, match="can be read two ways"):
        parse_coordinate("85,7 W", LONGITUDE)


@pytest.mark.parametrize(
    ("text", "axis", "why"),
    [
        ("38°60'", LATITUDE, "has 60 minutes; they are less than 60"),
        ("38 12 60.0", LATITUDE, "has 60.0 seconds; they are less than 60"),
        ("38 75 12 N", LATITUDE, "has 75 minutes"),
        ("90 0 0.1 N", LATITUDE, "more than 90 degrees of latitude"),
        ("180 1 W", LONGITUDE, "more than 180 degrees of longitude"),
        ("N38 12 E", LATITUDE, "names two hemispheres"),
        ("38 12 N S", LATITUDE, "names two hemispheres"),
        ("-38 12 N", LATITUDE, r"the sign - and the letter N, which do not agree"),
        ("+85 41 W", LONGITUDE, r"the sign \+ and the letter W, which do not agree"),
        ("38 12 N", LONGITUDE, r"is a latitude \(N\), and its column holds the longitude"),
        ("85 41 W", LATITUDE, r"is a longitude \(W\), and its column holds the latitude"),
        ("38.5°12'", LATITUDE, "a fraction before its last number"),
        ("38'12\"", LATITUDE, "is neither a number nor degrees"),
        ('38°12"', LATITUDE, "is neither a number nor degrees"),
        ("38 N 12", LATITUDE, "is neither a number nor degrees"),
        ("38 -12", LATITUDE, "is neither a number nor degrees"),
        ("38 12 34 5", LATITUDE, "is neither a number nor degrees"),
        ("38:12:", LATITUDE, "is neither a number nor degrees"),
        ("85 41 O", LONGITUDE, "is neither a number nor degrees"),
        ("1,200,000", LONGITUDE, "write it without commas"),
        ("381234.5N", LATITUDE, "more than 90 degrees"),
        ("north", LATITUDE, "is neither a number nor degrees"),
        ("N" + " " * 100 + "38", LATITUDE, "is neither a number nor degrees"),
    ],
)
def test_it_says_why_it_cannot_be_read(text: str, axis: Axis, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        parse_coordinate(text, axis)


def test_degrees_do_not_go_with_a_system_that_counts_meters() -> None:
    with pytest.raises(ValueError, match="does not count degrees"):
        parse_coordinate("38 12.575 N", LATITUDE, Written(in_degrees=False))


@pytest.mark.parametrize(
    "text",
    [
        "38°12'34.5\"N 85°41'3\"W",
        "38°12'34.5\"N85°41'3\"W",
        "38°12'34.5\"N, 85°41'3\"W",
        "N38 12.575 W085 41.05",
        "N38 12.575W085 41.05",
        "38 12.575 -85 41.05",
        "(38 12 34.5; -85 41 3)",
        "38 12 34.5 N / 85 41 3 W",
        "38 12 34.5 N, -85 41 3",
    ],
)
def test_it_reads_both_of_one_cell(text: str) -> None:
    assert parse_pair(text, LATITUDE_FIRST) == pytest.approx((WEST, NORTH), abs=1e-12)


@pytest.mark.parametrize("text", ["38.2, -85.7", "38.2 -85.7", "38.2,-85.7", "38.2;-85.7", "(38.2 , -85.7)"])
def test_the_order_is_that_of_the_field(text: str) -> None:
    assert parse_pair(text, LATITUDE_FIRST) == (-85.7, 38.2)
    assert parse_pair(text, LONGITUDE_FIRST) == (38.2, -85.7)


@pytest.mark.parametrize("text", ["38,2; -85,7", "38,2 -85,7", "38,2, -85,7"])
def test_both_may_have_decimal_commas(text: str) -> None:
    assert parse_pair(text, LATITUDE_FIRST, COMMAS) == (-85.7, 38.2)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("85 41 W, 38 12 N", "tells its longitude first"),
        ("38°75'N, 85°41'W", "“38°75'N” has 75 minutes"),
        ("38 12 30 45", "more ways than one"),
        ("somewhere", "is not a latitude and a longitude"),
        ("38.2", "is not a latitude and a longitude"),
        ("38 12 N", "names a hemisphere for one of its coordinates only"),
        ("38 12 N, 85 41", "names a hemisphere for one of its coordinates only"),
    ],
)
def test_it_says_why_both_cannot_be_read(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        parse_pair(text, LATITUDE_FIRST)


@pytest.mark.parametrize(
    ("texts", "fields"),
    [
        (["38 12 34 N", "38 12 N"], ("latitude",)),
        (["38:12:34"], ("longitude", "latitude")),
        (["38°12'N 85°41'W"], ("latitude_longitude",)),
        (["85°41'W 38°12'N"], ("longitude_latitude",)),
        (["38.2, -85.7"], ("latitude_longitude", "longitude_latitude")),
        (["-95.2, 38.2"], ("longitude_latitude",)),
        (["613234, 4229876"], ()),
        (["north gate"], ()),
        ([], ()),
        (["38:12:34"] * 3 + ["38:72:34"], ("longitude", "latitude")),
        (["38:12:34", "38:72:34"], ()),
    ],
)
def test_it_tells_what_a_column_could_be(texts: list[str], fields: tuple[str, ...]) -> None:
    assert fields_read(texts) == fields
