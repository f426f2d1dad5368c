"""Acid equivalent on the same ground, summed over all products with the ingredient, against the caps of a label.

    rate of a use   kg ae/ha = product l x ae g/l / 1000 / (treated, infested or gross area m2 / 10,000)
    sum             the rates of all uses that hit one piece of ground within the cap's year, added up

The reading is the cautious one: each use counts with its mean rate as if all that it treated had been that one piece,
and whatever may overlap lies on top of each other. Earlier uses, open orders and all that is proposed together count
alike. Only the days of one pass over a patch (`Application.work`) do not lie on top of each other, since each covers
ground of its own; the pass counts with the higher of its densest day and of its whole amount over its whole area. A
ground is a set of rows of uses (`Application.row`); whoever has the outlines makes them, `grounds_by_patch`
serves where there are none.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.labels import Application, Cap, Counted, Finding, ProductLabel
from estimating.units import SQUARE_METRES_PER_HECTARE, pounds_per_acre

ROLLING_YEAR = timedelta(days=365)

# Sums of binary fractions may pass an equal limit by their last digits; this is far below any amount that is measured.
ROUNDING = 1e-9

UNIT = "kg ae/ha"
YEARS = {"calendar": "calendar year", "12 months": "12 months", "season": "season"}

Ground = frozenset[str]
Seasons = Sequence[tuple[date, date]]


@dataclass(frozen=True)
class Load:
    """One use's share of an ingredient on a ground."""

    use: Application
    kg_ae: float

    @property
    def row(self) -> str:
        return self.use.row

    @property
    def on(self) -> date:
        return self.use.on

    def rate(self, area: str) -> float:
        """kg of acid equivalent per hectare, of the treated, infested or gross area."""
        return self.kg_ae / (self.use.area_m2(area) / SQUARE_METRES_PER_HECTARE)


def grounds_by_patch(uses: Iterable[Application]) -> list[Ground]:
    """One ground a patch: what is to be said where no outlines are known."""
    rows: dict[str, set[str]] = {}
    for use in uses:
        rows.setdefault(use.patch, set()).add(use.row)
    return [frozenset(found) for found in rows.values()]


def grounds_complete(uses: Sequence[Application], grounds: Iterable[Ground]) -> list[Ground]:
    """The grounds, with one of its own for each row that none of them holds: no use goes uncounted."""
    known = list(dict.fromkeys(grounds))
    held = {row for ground in known for row in ground}
    return known + [frozenset({row}) for row in dict.fromkeys(use.row for use in uses) if row not in held]


def ingredient_loads(
    uses: Sequence[Application], labels: Mapping[str, ProductLabel], ground: Ground, ingredient: str
) -> list[Load]:
    """All uses of an ingredient on a ground, by day and row; products without a label are reported elsewhere."""
    found = [
        Load(use, labels[use.product].kg_ae(ingredient, use.product_l))
        for use in uses
        if use.row in ground and use.product in labels and ingredient in labels[use.product].ingredients
    ]
    return sorted(found, key=lambda load: (load.on, load.row, load.use.product))


def year_windows(loads: Sequence[Load], cap: Cap, seasons: Seasons = ()) -> Iterator[list[Load]]:
    """The loads of each year that the cap speaks of: calendar years, 365 days that end with a use, or seasons.

    A use outside of every season counts with the 365 days before it.
    """
    if cap.year == "calendar":
        for year in dict.fromkeys(load.on.year for load in loads):
            yield [load for load in loads if load.on.year == year]
        return
    ends = dict.fromkeys(load.on for load in loads)
    if cap.year == "season":
        for first, last in seasons:
            yield [load for load in loads if first <= load.on <= last]
        ends = dict.fromkeys(end for end in ends if not any(first <= end <= last for first, last in seasons))
    for end in ends:
        yield [load for load in loads if end - ROLLING_YEAR < load.on <= end]


def _windows(loads: Sequence[Load], cap: Cap, seasons: Seasons) -> Iterator[list[Load]]:
    """What is added up: each application by itself (the products of one mix together), or the uses of a year.

    A cap of one use of the label adds up the loads of that method alone.
    """
    under = [load for load in loads if cap.method in {"", load.use.method}]
    if cap.period == "year":
        yield from year_windows(under, cap, seasons)
        return
    for key in dict.fromkeys((load.row, load.on) for load in under):
        yield [load for load in under if (load.row, load.on) == key]


def _counted(load: Load, area: str, row: str = "") -> Counted:
    return Counted(
        row=row or load.row,
        on=load.on,
        product=load.use.product,
        product_l=load.use.product_l,
        kg_ae=load.kg_ae,
        area_m2=load.use.area_m2(area),
        kg_ae_per_ha=load.rate(area),
    )


def _parts(loads: Sequence[Load], area: str) -> list[Counted]:
    """What is added up: single uses, and the days of one pass as one part."""
    passes: dict[tuple[str, str], list[Load]] = {}
    for number, load in enumerate(loads):
        own = load.use.work or f"use {number}"
        passes.setdefault((own, load.use.product), []).append(load)
    return [_pass(days, area) for days in passes.values()]


def _pass(days: Sequence[Load], area: str) -> Counted:
    """One pass: the higher of its whole amount over its whole area and of its densest day. A gross or infested area is
    the patch's own, whatever was done on which day."""
    densest = max(days, key=lambda load: load.rate(area))
    if len(days) == 1:
        return _counted(densest, area)
    whole_m2 = densest.use.area_m2(area)
    if area == "treated":
        whole_m2 = densest.use.work_area_m2 or sum(load.use.treated_area_m2 for load in days)
    kg_ae = sum(load.kg_ae for load in days)
    rate = kg_ae / (whole_m2 / SQUARE_METRES_PER_HECTARE)
    if densest.rate(area) > rate:
        return _counted(densest, area, f"{densest.row}, the densest of {len(days)} days")
    return Counted(
        row=f"{days[0].row} and on {len(days) - 1} more days",
        on=days[-1].on,
        product=densest.use.product,
        product_l=sum(load.use.product_l for load in days),
        kg_ae=kg_ae,
        area_m2=whole_m2,
        kg_ae_per_ha=rate,
    )


def _total(loads: Sequence[Load], area: str) -> float:
    return sum(part.kg_ae_per_ha for part in _parts(loads, area))


def _rate_words(kg_per_ha: float) -> str:
    return f"{kg_per_ha:.3f} {UNIT} ({pounds_per_acre(kg_per_ha):.2f} lb ae/acre)"


def _part_words(part: Counted, name: str) -> str:
    return f"{part.row}, {part.on.isoformat()}: {part.product_l:.3f} L of {name} = {part.kg_ae_per_ha:.3f} {UNIT}"


def _finding(
    label: ProductLabel, cap: Cap, loads: Sequence[Load], proposed: frozenset[str], names: Mapping[str, str]
) -> Finding:
    counted = tuple(_parts(loads, cap.area))
    total = sum(part.kg_ae_per_ha for part in counted)
    what = "in one application" if cap.period == "application" else f"in one {YEARS[cap.year]}"
    use = f" by {cap.method}" if cap.method else ""
    whose = "the program's own policy" if cap.kind == "program-policy" else f"the label of {label.name}"
    rows = tuple(dict.fromkeys(load.row for load in loads))
    return Finding(
        kind=cap.kind,
        code=f"{cap.period}-cap",
        message=(
            f"{cap.ingredient}: {_rate_words(total)} of {cap.area} area {what}{use} on the same ground, but {whose} "
            f"allows {_rate_words(cap.kg_ae_per_ha)} ({cap.reference}). "
            f"Counted: {'; '.join(_part_words(part, names[part.product]) for part in counted)}."
        ),
        rows=rows,
        product=label.code,
        ingredient=cap.ingredient,
        limit=cap.kg_ae_per_ha,
        total=total,
        unit=UNIT,
        reference=cap.reference,
        proposed=tuple(row for row in rows if row in proposed),
        counted=counted,
    )


def _largest(findings: Iterable[Finding]) -> list[Finding]:
    """Of findings about one cap, those whose rows no other one holds all of: the same excess is told once."""
    kept: list[Finding] = []
    for finding in sorted(findings, key=lambda found: (-len(found.rows), -(found.total or 0))):
        if not any(set(finding.rows) <= set(other.rows) for other in kept):
            kept.append(finding)
    return kept


def cap_findings(
    proposed: Sequence[Application],
    prior: Sequence[Application],
    labels: Mapping[str, ProductLabel],
    grounds: Iterable[Ground],
    seasons: Seasons = (),
) -> Iterator[Finding]:
    """Each cap that a ground would pass with a proposed use among the uses counted.

    The caps of every product that counts hold, also of one that was used there before: its label speaks of the
    ingredient, whatever the can that it comes from.
    """
    uses = [*prior, *proposed]
    asked = frozenset(use.row for use in proposed)
    pieces = [ground for ground in grounds if ground & asked]
    names = {code: label.name for code, label in labels.items()}
    for product in dict.fromkeys(use.product for use in [*proposed, *prior]):
        label = labels.get(product)
        for cap in label.caps if label else ():
            assert label is not None
            windows = (
                window
                for ground in pieces
                for window in _windows(ingredient_loads(uses, labels, ground, cap.ingredient), cap, seasons)
            )
            yield from _largest(_over(windows, label, cap, asked, names))


def _over(
    windows: Iterable[Sequence[Load]], label: ProductLabel, cap: Cap, asked: frozenset[str], names: Mapping[str, str]
) -> Iterator[Finding]:
    for window in windows:
        total = _total(window, cap.area)
        is_over = total > cap.kg_ae_per_ha * (1 + ROUNDING)
        if is_over and asked.intersection(load.row for load in window) and _uses(window, label.code):
            yield _finding(label, cap, window, asked, names)


def _uses(window: Sequence[Load], product: str) -> bool:
    return any(load.use.product == product for load in window)
