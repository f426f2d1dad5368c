"""What machines and hand tools use up: fuel by the liter and blades by the piece, by the crew's hours in the field.

    fuel l = field crew-hours x fuel l per crew-hour of the method
    blades = field crew-hours x blades per crew-hour of the method (parts of a blade count: wear is shared out)

The rates are the rate book's allowances `fuel_l_per_hour` and `blades_per_hour`, for a method or for all; a method
without them uses none.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.errors import InvalidFact
from estimating.rate_book import RateBook

FUEL = "fuel_l_per_hour"
BLADES = "blades_per_hour"


@dataclass(frozen=True)
class Consumables:
    """By job: liters of fuel, and blades (saw, brush cutter or mower) worn out, parts included."""

    fuel_l: FloatArray
    blades: FloatArray


def consumables(
    field_crew_hours: FloatArray, method_index: IntArray, methods: Sequence[str], book: RateBook
) -> Consumables:
    """Fuel and blades of jobs.

    `field_crew_hours` [job]: hours that the whole crew works on the job, NaN where the job has no figures (its fuel
    and blades are then NaN too); `method_index` [job]: row of the job's method in `methods`. Errors: `InvalidFact`
    where hours are negative or the two arrays differ in length.
    Source of the method: hours x rate, common practice; the rates carry their own source in the rate book.
    """
    hours = np.asarray(field_crew_hours, dtype=np.float64)
    if hours.shape != np.shape(method_index):
        raise InvalidFact("must have as many values as method_index", "field_crew_hours")
    if (hours < 0).any():
        raise InvalidFact("must be 0 or more", "field_crew_hours")
    return Consumables(*(hours * _by_method(name, methods, book)[method_index] for name in (FUEL, BLADES)))


def _by_method(name: str, methods: Sequence[str], book: RateBook) -> FloatArray:
    return np.array([book.allowance(name, method, missing=0.0) for method in methods], dtype=np.float64)
