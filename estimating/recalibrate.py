"""A draft rate book from a calibration: rates with enough evidence move, all others stay as they are."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimating.calibrate import Calibration, Ratio

SOURCE_CHARACTERS = 300
LEAST_SHARED_SPREAD = 0.05  # from memory: no rate is known better than about 5%, for next year is another year
MOST_SPREAD = 2.0


@dataclass(frozen=True)
class RateChange:
    """One row of the book (from 1) that moves, with the ratio that moves it."""

    line: int
    method: str
    step: str
    growth_form: str
    unit: str
    old: str
    new: str
    ratio: Ratio


def rates_calibrated(
    rows: Sequence[Mapping[str, str]], found: Calibration, label: str
) -> tuple[list[dict[str, str]], tuple[RateChange, ...]]:
    """The rows of the next draft, and what changed. `label` names the evidence, such as the season.

    New rate = rate x ratio, to four figures; shared spread = what the ratio is still uncertain by; own spread = own
    spread x the calibration's factor. A rate for one growth form moves by the ratio of that form, a rate for all forms
    by the method's. Each row that moves says so in its source, before the source it had.
    """
    changed: list[RateChange] = []
    made = []
    for line, row in enumerate(rows, start=1):
        ratio = found.ratio(row["method"], row["growth_form"]) if row["kind"] == "rate" else None
        made.append(dict(row) if ratio is None else _moved(row, ratio, found, label))
        if ratio is not None:
            names = {name: row[name] for name in ("method", "step", "growth_form", "unit")}
            changed.append(RateChange(line, **names, old=row["value"], new=made[-1]["value"], ratio=ratio))
    return made, tuple(changed)


def _moved(row: Mapping[str, str], ratio: Ratio, found: Calibration, label: str) -> dict[str, str]:
    own = float(row["own_spread"] or 0) * found.own_spread_factor
    return {
        **row,
        "value": four_figures(float(row["value"]) * ratio.ratio),
        "shared_spread": f"{min(MOST_SPREAD, max(LEAST_SHARED_SPREAD, ratio.log_sd)):.3g}",
        "own_spread": f"{min(MOST_SPREAD, own):.3g}",
        "source": source_text(row, ratio, label),
    }


def four_figures(value: float) -> str:
    """To four figures, without an exponent: 0.012345 -> 0.01235, 12345 -> 12350"""
    if value == 0:
        return "0"
    digits = 3 - math.floor(math.log10(abs(value)))
    text = f"{round(value, digits):.{max(digits, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def source_text(row: Mapping[str, str], ratio: Ratio, label: str) -> str:
    """calibrated on 14 closed orders, 2027: ×1.23 (1.08–1.41); was 420 h/ha, from memory"""
    orders = f"{len(ratio.orders)} closed order{'' if len(ratio.orders) == 1 else 's'}"
    evidence = f"calibrated on {orders}, {label}: ×{ratio.ratio:.2f} ({ratio.low:.2f}–{ratio.high:.2f})"
    whole = f"{evidence}; was {row['value']} {row['unit']}, {row['source']}"
    return whole if len(whole) <= SOURCE_CHARACTERS else f"{whole[: SOURCE_CHARACTERS - 1]}…"
