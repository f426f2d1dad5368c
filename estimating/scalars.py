"""Checks of single figures that people type: above 0, 0 or more, a percent. NaN is none of them."""

import math

from estimating.errors import InvalidFact


def positive(name: str, value: float) -> float:
    """The value where it is a finite number above 0; else `InvalidFact` with the name of the figure."""
    if not 0 < value < math.inf:
        raise InvalidFact("must be above 0", name)
    return value


def not_negative(name: str, value: float) -> float:
    """The value where it is a finite number, 0 or more."""
    if not 0 <= value < math.inf:
        raise InvalidFact("must be 0 or more", name)
    return value


def percent(name: str, value: float) -> float:
    """The value where it is from 0 to 100."""
    if not 0 <= value <= 100:
        raise InvalidFact("must be from 0 to 100", name)
    return value


def fraction(name: str, value: float) -> float:
    """The value where it is a share above 0 and at most 1."""
    if not 0 < value <= 1:
        raise InvalidFact("must be above 0 and at most 1", name)
    return value
