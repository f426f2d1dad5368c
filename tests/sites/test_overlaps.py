"""Which outlines lie on the same ground. Shapes are laid out in meters about a corner in Kentucky."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orders.sites.overlaps import SLIVER_M2, Outline, box_degrees, grounds, meters_a_degree

LON, LAT = -85.7, 38.2
EAST, NORTH = meters_a_degree(LAT)


def at(x, y):
    return [LON + x / EAST, LAT + y / NORTH]


def ring(x, y, width, height):
    return [at(x, y), at(x + width, y), at(x + width, y + height), at(x, y + height), at(x, y)]


def box(key, x, y, width, height, hole=None):
    rings = [ring(x, y, width, height), *([ring(*hole)] if hole else [])]
    return Outline(key=key, geometry={"type": "Polygon", "coordinates": rings}, area_m2=width * height)


def point(key, x, y, area_m2):
    return Outline(key=key, geometry={"type": "Point", "coordinates": at(x, y)}, area_m2=area_m2)


def found(*outlines):
    return {"".join(sorted(keys)) for keys in grounds(outlines)}


def test_it_measures_a_degree_as_the_ellipsoid_has_it():
    # 45 degrees north: 78,847 m and 111,132 m a degree on WGS 84 (series of the ellipsoid, from memory).
    assert meters_a_degree(45) == pytest.approx((78_847, 111_132), abs=2)


def test_it_leaves_outlines_alone_that_do_not_meet():
    assert found(box("a", 0, 0, 50, 50), box("b", 60, 0, 50, 50)) == {"a", "b"}
    assert found() == set()


def test_it_puts_two_names_on_the_same_ground_together():
    assert found(box("a", 0, 0, 50, 50), box("b", 20, 20, 50, 50)) == {"ab"}
    assert found(box("a", 0, 0, 50, 50), box("b", 0, 0, 50, 50)) == {"ab"}
    assert found(box("a", 0, 0, 50, 50), box("b", 20, 20, 5, 5)) == {"ab"}


@pytest.mark.parametrize(("strip_m", "together"), [(0.2, False), (0.4, False), (0.6, True)])
def test_it_takes_a_thin_strip_for_a_sliver(strip_m, together):
    # 50 m long: 10, 20 and 30 m2 of 2,500, where 25 m2 is the most that a sliver may have
    assert (50 * strip_m >= SLIVER_M2) == together
    assert ("ab" in found(box("a", 0, 0, 50, 50), box("b", 50 - strip_m, 0, 50, 50))) == together


def test_it_counts_a_small_overlap_that_is_much_of_a_small_patch():
    assert found(box("a", 0, 0, 50, 50), box("b", 49, 0, 4, 4)) == {"ab"}


def test_it_respects_holes():
    fence = box("a", 0, 0, 60, 60, hole=(20, 20, 20, 20))
    assert found(fence, box("b", 22, 22, 10, 10)) == {"a", "b"}
    assert found(fence, box("b", 15, 22, 10, 10)) == {"ab"}


def test_it_makes_a_circle_of_a_point():
    assert found(point("a", 0, 0, 314), box("b", 5, -5, 30, 10)) == {"ab"}
    assert found(point("a", 0, 0, 314), box("b", 11, -5, 30, 10)) == {"a", "b"}
    assert found(point("a", 0, 0, 314), point("b", 15, 0, 314)) == {"ab"}
    west, _, east, _ = box_degrees(point("a", 0, 0, math.pi * 100))
    assert (east - west) * EAST == pytest.approx(20, rel=1e-6)


def test_it_gives_the_parts_of_a_split_patch_the_history_of_the_whole():
    halves = [box("b", 0, 0, 25, 50), box("c", 25, 0, 25, 50)]
    assert found(box("a", 0, 0, 50, 50), *halves) == {"ab", "ac"}


def test_it_stacks_only_what_meets_in_one_piece():
    # three bars round an empty middle: each two cross, no place lies under all three
    bars = [box("a", 0, 0, 100, 10), box("b", 0, 0, 10, 100)]
    slope = {"type": "Polygon", "coordinates": [[at(100, 0), at(100, 10), at(10, 100), at(0, 100), at(100, 0)]]}
    assert found(*bars, Outline(key="c", geometry=slope, area_m2=1000)) == {"ab", "ac", "bc"}
    assert found(*bars, box("c", 5, 5, 50, 50)) == {"abc"}


def test_it_finds_every_stack_of_a_chain():
    assert found(*[box(key, 30 * n, 0, 50, 50) for n, key in enumerate("abcd")]) == {"ab", "bc", "cd"}


def test_it_mends_an_outline_that_crosses_itself():
    bow = {"type": "Polygon", "coordinates": [[at(0, 0), at(50, 50), at(50, 0), at(0, 50), at(0, 0)]]}
    assert found(Outline(key="a", geometry=bow, area_m2=1000), box("b", 40, 10, 9, 30)) == {"ab"}


def test_it_reads_outlines_of_several_parts():
    parts = {"type": "MultiPolygon", "coordinates": [[ring(0, 0, 10, 10)], [ring(100, 0, 10, 10)]]}
    assert found(Outline(key="a", geometry=parts, area_m2=200), box("b", 102, 2, 5, 5)) == {"ab"}


places = st.tuples(*[st.floats(0, 80)] * 2, *[st.floats(5, 60)] * 2)


@settings(deadline=None, max_examples=60)
@given(st.lists(places, min_size=1, max_size=7))
def test_it_holds_every_pair_that_shares_more_than_a_sliver(boxes):
    sets = grounds([box(str(n), *place) for n, place in enumerate(boxes)])
    for one, (x, y, width, height) in enumerate(boxes):
        for other, (u, v, wide, high) in enumerate(boxes):
            east = min(x + width, u + wide) - max(x, u)
            north = min(y + height, v + high) - max(y, v)
            if one < other and east > 0 and north > 0 and east * north > SLIVER_M2 * 1.01:
                assert any({str(one), str(other)} <= members for members in sets)
    assert set().union(*sets) == {str(n) for n in range(len(boxes))}
