"""Cover classes as their sources print them."""

import pytest

from estimating.cover_classes import cover_class, scheme_class, scheme_classes
from estimating.errors import InvalidFact, UnknownCode


def test_it_has_the_midpoints_of_daubenmire_1959():
    # Daubenmire 1959, table printed in https://dnrweblink.state.co.us/DRMSSearch/0/doc/762608/Page15.aspx
    assert [found.midpoint_percent for found in scheme_classes("daubenmire-1959")] == [2.5, 15, 37.5, 62.5, 85, 97.5]


@pytest.mark.parametrize(("code", "midpoint"), [("2", 15), ("3", 37.5), ("4", 62.5), ("5", 87.5)])
def test_it_has_the_arithmetic_midpoints_of_braun_blanquet(code, midpoint):
    # Limits: SERC/FIU Table 2, http://serc.fiu.edu/seagrass/NearshoreWeb/Tables/BBscores.htm; midpoints derived.
    assert scheme_class("braun-blanquet", code).midpoint_percent == midpoint


@pytest.mark.parametrize(
    ("percent", "code"),
    [(0, "1"), (4.999, "1"), (5, "2"), (25, "3"), (50, "4"), (75, "5"), (94.9, "5"), (95, "6"), (100, "6")],
)
def test_it_puts_a_shared_limit_into_the_higher_class(percent, code):
    # Common practice: the source leaves the boundary open; lower-inclusive and upper-exclusive is our rule.
    assert cover_class("daubenmire-1959", percent).code == code


@pytest.mark.parametrize("scheme", ["daubenmire-1959", "braun-blanquet"])
def test_it_leaves_no_gap_between_classes(scheme):
    classes = scheme_classes(scheme)
    assert [found.low_percent for found in classes[1:]] == [found.high_percent for found in classes[:-1]]
    assert (classes[0].low_percent, classes[-1].high_percent) == (0, 100)


@pytest.mark.parametrize("percent", [-0.1, 100.1, float("nan")])
def test_it_refuses_a_cover_that_cannot_be(percent):
    with pytest.raises(InvalidFact, match="0 to 100"):
        cover_class("daubenmire-1959", percent)


def test_it_names_the_classes_when_a_code_is_unknown():
    with pytest.raises(UnknownCode, match="1, 2, 3, 4, 5, 6"):
        scheme_class("daubenmire-1959", "7")
