"""Acid equivalent on the same ground, summed over all products with the ingredient, against the caps of a label.

Per treated area the rates of the uses on a patch are added as if each had hit the same ground, the cautious reading;
per site area the kilograms are added and divided by the site. Earlier uses, open orders and all that is proposed
together count alike.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.labels import Application, Cap, Finding, ProductLabel
from estimating.units import SQUARE_METRES_PER_HECTARE

ROLLING_YEAR = timedelta(days=365)

# Sums of binary fractions may pass an equal limit by their last digits; this is far below any amount that is measured.
ROUNDING = 1e-9

UNIT = "kg ae/ha"


@dataclass(frozen=True)
class Load:
    """One use's share of an ingredient on a patch."""

    row: str
    on: date
    kg_ae: float
    treated_ha: float
    site_ha: float

    def rate(self, area: str) -> float:
        """kg of acid equivalent per hectare, of the treated or of the site's area."""
        return self.kg_ae / (self.treated_ha if area == "treated" else self.site_ha)


def ingredient_loads(
    uses: Sequence[Application], labels: Mapping[str, ProductLabel], patch: str, ingredient: str
) -> list[Load]:
    """All uses of an ingredient on a patch, by day and row; products without a label are reported elsewhere."""
    found = [
        Load(
            use.row,
            use.on,
            labels[use.product].kg_ae(ingredient, use.product_l),
            use.treated_area_m2 / SQUARE_METRES_PER_HECTARE,
            use.site_area_m2 / SQUARE_METRES_PER_HECTARE,
        )
        for use in uses
        if use.patch == patch and use.product in labels and ingredient in labels[use.product].ingredients
    ]
    return sorted(found, key=lambda load: (load.on, load.row))


def year_windows(loads: Sequence[Load], cap: Cap) -> Iterator[list[Load]]:
    """The loads of each year that the cap speaks of: calendar years, or 365 days that end with a use."""
    if cap.year == "calendar":
        for year in dict.fromkeys(load.on.year for load in loads):
            yield [load for load in loads if load.on.year == year]
        return
    for end in dict.fromkeys(load.on for load in loads):
        yield [load for load in loads if end - ROLLING_YEAR < load.on <= end]


def _over(loads: Sequence[Load], cap: Cap) -> float | None:
    """The sum of the loads' rates where it passes the cap."""
    total = sum(load.rate(cap.area) for load in loads)
    return total if total > cap.kg_ae_per_ha * (1 + ROUNDING) else None


def _finding(label: ProductLabel, cap: Cap, loads: Sequence[Load], total: float) -> Finding:
    what = "in one application" if cap.period == "application" else f"in a {cap.year} year"
    rows = tuple(load.row for load in loads)
    return Finding(
        kind=cap.kind,
        code=f"{cap.period}-cap",
        message=(
            f"{cap.ingredient}: {total:.3f} {UNIT} of {cap.area} area {what}, but the label of {label.name} allows "
            f"{cap.kg_ae_per_ha:.3f}. Counted: {', '.join(rows)}."
        ),
        rows=rows,
        product=label.code,
        ingredient=cap.ingredient,
        limit=cap.kg_ae_per_ha,
        total=total,
        unit=UNIT,
        reference=cap.reference,
    )


def cap_findings(
    proposed: Sequence[Application],
    prior: Sequence[Application],
    labels: Mapping[str, ProductLabel],
) -> Iterator[Finding]:
    """Each cap of each proposed product that its patch would pass with a proposed use among the uses counted."""
    uses = [*prior, *proposed]
    proposed_rows = {use.row for use in proposed}
    for patch, product in dict.fromkeys((use.patch, use.product) for use in proposed):
        label = labels.get(product)
        for cap in label.caps if label else ():
            assert label is not None
            loads = ingredient_loads(uses, labels, patch, cap.ingredient)
            windows = ([load] for load in loads) if cap.period == "application" else year_windows(loads, cap)
            for window in windows:
                total = _over(window, cap)
                if total is not None and any(load.row in proposed_rows for load in window):
                    yield _finding(label, cap, window, total)
