"""Are two explanations the same, but for the last bits of sums over more or fewer jobs at once?"""

import math

RELATIVE = 1e-12


def alike(one, other):
    """Same kinds, same keys in the same order, same texts and whole numbers; floats within 1e-12 of each other."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return list(one) == list(other) and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(alike(*pair) for pair in zip(one, other, strict=True))
    return math.isclose(one, other, rel_tol=RELATIVE) if isinstance(one, float) else one == other
