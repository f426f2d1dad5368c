"""The same survey sent twice is known; another one is not."""

import hashlib
import struct
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
import shapely

from orders.sites.geofiles.records import SurveyRow
from tests.sites.geofiles.made import SQUARE, check

CLIMBING = {"growth_form": "climbing", "cover_percent": 5}


def survey(**row: Any) -> SurveyRow:
    return check(row).rows[0]


def test_it_is_the_same_wherever_in_a_file_the_row_stands() -> None:
    first, second = check({"patch_code": "P0"}, {}).rows
    assert second.fingerprint() == survey().fingerprint() != first.fingerprint()


def test_it_is_the_same_whichever_component_comes_first() -> None:
    assert check({}, CLIMBING).rows[0].fingerprint() == check(CLIMBING, {}).rows[0].fingerprint()


def test_it_is_the_same_however_the_outline_was_drawn() -> None:
    corners = list(SQUARE.exterior.coords)[:-1]
    turned = shapely.Polygon([*corners[2:], *corners[:2]][::-1])
    assert survey(geometry=turned).fingerprint() == survey().fingerprint()


def test_it_is_the_same_whether_a_number_was_whole_or_not() -> None:
    assert survey(cover_percent=40).fingerprint() == survey(cover_percent="40.0").fingerprint()


@pytest.mark.parametrize(
    "change",
    [
        {"patch_code": "P2"},
        {"observed_on": "2026-05-02"},
        {"observer": "Ben Wren"},
        {"growth_form": "climbing"},
        {"cover_percent": 41},
        {"stems_small": 0},
        {"notes": "gate code changed"},
        {"fertile": "no"},
        {"ground": "rough"},
        {"cut_height_m": 1.5},
        {"reproductive_condition": "fruit"},
        {"geometry": shapely.box(-85.70, 38.20, -85.69, 38.2100001)},
    ],
)
def test_it_differs_where_anything_observed_differs(change: dict[str, Any]) -> None:
    assert survey(**change).fingerprint() != survey().fingerprint()


def test_it_is_the_same_where_a_later_fact_is_not_told() -> None:
    untold = {"ground": "unknown", "cut_height_m": None, "reproductive_condition": "unknown"}
    assert survey(**untold).fingerprint() == survey().fingerprint()


def test_it_does_not_hang_on_the_digits_of_a_measured_area() -> None:
    measured = survey()
    assert replace(measured, area_m2=measured.area_m2 + 0.001).fingerprint() == measured.fingerprint()


def test_it_holds_the_area_of_a_point() -> None:
    point = survey(geometry=shapely.Point(-85.70, 38.20), gross_area_m2=100)
    assert replace(point, area_m2=101.0).fingerprint() != point.fingerprint()


def test_it_is_the_hash_of_a_text_that_does_not_change_from_one_release_to_the_next() -> None:
    # Stored with every survey: with another text, a file that was read before would be read again.
    row = SurveyRow((1,), "MILL", "P1", date(2026, 5, 1), "Ada Vole", shapely.Point(-85.5, 38.25), 100.0, ())
    point = struct.pack("<BIdd", 1, 1, -85.5, 38.25).hex()
    text = (
        '{"area_m2":100.0,"components":[],"control_state":null,"desirable_tree_roots":"unknown",'
        '"distance_to_water_m":null,"evergreen_natives":"unknown",'
        f'"geometry":"{point}","minutes_from_gate":null,"notes":"","observed_on":"2026-05-01","observer":"Ada Vole",'
        '"patch_code":"P1","patch_name":"","site_code":"MILL","slope_deg":null,"spring_ephemerals":"unknown",'
        '"target_cover_percent":null,"version":1,"wet_ground":"unknown"}'
    )
    assert row.fingerprint() == hashlib.sha256(text.encode()).hexdigest()
