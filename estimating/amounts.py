"""Amounts of material by job, as the estimate counts them."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from estimating.columns import FloatArray
from estimating.inputs import Jobs
from estimating.materials import Mix, products_used


@dataclass(frozen=True)
class Materials:
    """Material by job; `product_l` by product code. `treated_area_m2` goes by the mix's own basis.

    `blades` are blades and chains worn out, parts included.
    """

    treated_area_m2: FloatArray
    spray_volume_l: FloatArray
    tank_loads: FloatArray
    product_l: dict[str, FloatArray]
    debris_m3: FloatArray
    bags: FloatArray
    fuel_l: FloatArray = field(default_factory=lambda: np.zeros(0))
    blades: FloatArray = field(default_factory=lambda: np.zeros(0))


def products_of_jobs(jobs: Jobs, volume_l: FloatArray, mixes: Sequence[Mix]) -> dict[str, FloatArray]:
    """Litres of each product by job."""
    amounts = {product: np.zeros(len(jobs)) for product in products_used(mixes)}
    for index, mix in enumerate(mixes):
        rows = jobs.mix == index
        for part in mix.parts:
            amounts[part.product][rows] += volume_l[rows] * mix.fraction(part)
    return amounts
