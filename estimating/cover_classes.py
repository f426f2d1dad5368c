"""Cover classes of vegetation surveys, and the cover (as a fraction) that stands for each.

Limits are lower-inclusive and upper-exclusive, except that the highest class includes 100%: the sources leave open to
which class a shared limit belongs, so one rule is chosen and kept.
"""

import math
from dataclasses import dataclass

from estimating.errors import InvalidFact, UnknownCode


@dataclass(frozen=True)
class CoverClass:
    """One class: `low` and `high` limits and `midpoint` in percent."""

    code: str
    low_percent: float
    high_percent: float
    midpoint_percent: float


def _classes(*rows: tuple[str, float, float]) -> tuple[CoverClass, ...]:
    return tuple(CoverClass(code, low, high, (low + high) / 2) for code, low, high in rows)


# Daubenmire 1959, limits and midpoints as printed in a CO DRMS record citing it,
# https://dnrweblink.state.co.us/DRMSSearch/0/doc/762608/Page15.aspx
DAUBENMIRE_1959 = _classes(("1", 0, 5), ("2", 5, 25), ("3", 25, 50), ("4", 50, 75), ("5", 75, 95), ("6", 95, 100))

# Braun-Blanquet: limits of classes 1-5 after SERC/FIU Table 2,
# http://serc.fiu.edu/seagrass/NearshoreWeb/Tables/BBscores.htm. The source gives r, + and 1 all as "under 5%";
# the inner limits of r and + (0.1% and 1%) are from memory: conventions differ.
BRAUN_BLANQUET = _classes(
    ("r", 0, 0.1), ("+", 0.1, 1), ("1", 1, 5), ("2", 5, 25), ("3", 25, 50), ("4", 50, 75), ("5", 75, 100)
)

SCHEMES = {"daubenmire-1959": DAUBENMIRE_1959, "braun-blanquet": BRAUN_BLANQUET}


def scheme_classes(scheme: str) -> tuple[CoverClass, ...]:
    """All classes of a scheme, lowest first."""
    if scheme not in SCHEMES:
        raise UnknownCode(f"unknown cover scheme {scheme!r}; known: {', '.join(SCHEMES)}", "cover_scheme")
    return SCHEMES[scheme]


def scheme_class(scheme: str, code: str) -> CoverClass:
    """The class of a scheme with this code."""
    for found in scheme_classes(scheme):
        if found.code == code.strip():
            return found
    known = ", ".join(entry.code for entry in SCHEMES[scheme])
    raise UnknownCode(f"{code!r} is no class of {scheme}; its classes: {known}", "cover_class")


def cover_class(scheme: str, cover_percent: float) -> CoverClass:
    """The class that holds a cover in percent."""
    if not 0 <= cover_percent <= 100 or math.isnan(cover_percent):
        raise InvalidFact("cover must be from 0 to 100 percent", "cover_percent")
    classes = scheme_classes(scheme)
    return next((entry for entry in classes if cover_percent < entry.high_percent), classes[-1])


def cover_range(scheme: str, code: str) -> tuple[float, float, float]:
    """Low, likely and high cover of a class, as fractions: its limits and midpoint."""
    found = scheme_class(scheme, code)
    return found.low_percent / 100, found.midpoint_percent / 100, found.high_percent / 100
