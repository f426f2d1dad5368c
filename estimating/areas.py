"""Total (gross), infested and canopy area, and the rules that tie them.

Definitions after USDA Forest Service, Southwestern Region, TP-R3-16-26 (data management guidelines): the total area may
be just the general area where the population is found; the infested area holds one species and is bounded by the outer
edge of the plants' canopy; canopy cover is the share of the infested area under foliage. Per-species areas overlap, so
infested areas of several species are never added up.
"""

from estimating.errors import InvalidFact
from estimating.units import SQUARE_METRES_PER_ACRE

# Same source: the smallest area that is mapped; outlines up to it always count as wholly infested.
MINIMUM_MAPPED_M2 = 0.1 * SQUARE_METRES_PER_ACRE

DEFAULT_PERCENT_INFESTED = 100.0


def infested_area_m2(total_area_m2: float, percent_infested: float = DEFAULT_PERCENT_INFESTED) -> float:
    """Infested area = total area x percent infested / 100."""
    return total_area_m2 * percent_infested / 100


def canopy_area_m2(infested_m2: float, cover: float) -> float:
    """Canopy area = infested area x cover (fraction)."""
    return infested_m2 * cover


def check_percent_infested(total_area_m2: float, percent_infested: float, *, eradicated: bool) -> float:
    """The percent infested, or `InvalidFact` where the source's rules do not allow it.

    0 stands only for a population that was visited again and found gone (`eradicated`); an outline of 0.1 acre or less
    is always 100 percent infested, or 0 where eradicated.
    """
    if not 0 <= percent_infested <= 100:
        raise InvalidFact("must be from 0 to 100", "percent_infested")
    if eradicated != (percent_infested == 0):
        raise InvalidFact("is 0 only for a population that a later visit found gone", "percent_infested")
    if total_area_m2 <= MINIMUM_MAPPED_M2 and percent_infested not in (0, 100):
        raise InvalidFact("is always 100 for an outline of 0.1 acre or less", "percent_infested")
    return percent_infested


def check_area_chain(total_area_m2: float, infested_m2: float, canopy_m2: float) -> None:
    """Total >= infested >= canopy >= 0."""
    if canopy_m2 < 0:
        raise InvalidFact("must not be negative", "canopy_area_m2")
    if infested_m2 < canopy_m2:
        raise InvalidFact("must not be smaller than the canopy area", "infested_area_m2")
    if total_area_m2 < infested_m2:
        raise InvalidFact("must not be smaller than the infested area", "gross_area_m2")
