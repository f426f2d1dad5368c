"""Limits of classes of a measure: few, round, and with about as many patches between two as the figures allow."""

from collections.abc import Sequence

ROUND = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
MOST_CLASSES = 6


def round_limits(values: Sequence[float], classes: int = MOST_CLASSES) -> tuple[float, ...]:
    """Upper limits of all classes but the last, rising; none where all figures fall into one."""
    ordered = sorted(value for value in values if value > 0)
    if not ordered:
        return ()
    cuts = [ordered[len(ordered) * part // classes] for part in range(1, classes)]
    limits = sorted({nearest_round(cut) for cut in cuts})
    return tuple(limit for limit in limits if ordered[0] < limit < ordered[-1])


def nearest_round(value: float) -> float:
    """By ratio: 0.47 -> 0.5, 7 -> 6 or 8, 118 -> 100."""
    if value <= 0:
        return 0.0
    exponent = int(f"{value:e}".partition("e")[2])
    scale = 10.0**exponent
    best = min(ROUND, key=lambda step: abs(value / scale - step) / step)
    return float(f"{best * scale:.6g}")
