"""What a season asks for in hours and money, with its range, and what drives that range."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from typing import overload

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.drivers import Driver, total_drivers
from estimating.spread import HIGH_Z, SeasonFit, season_fit
from orders.planning.models import Prescription, Season
from orders.planning.selectors import prescriptions

CENTS = 100
AT_ONCE = 5000  # a database takes so many ids
OF_ESTIMATE = (
    *("hours_low", "hours_likely", "hours_high", "cost_low_cents", "total_cents", "cost_high_cents"),
    *("own_log_sd", "shared_log_sd"),
)
COLUMNS = ("pk", "method__code", "method__name", "share_left", *(f"estimate__{name}" for name in OF_ESTIMATE))


@dataclass(frozen=True, kw_only=True)
class Figures:
    """One prescription's part of its estimate: what is left of it in hours and dollars, and how sure that is."""

    low_hours: float
    likely_hours: float
    high_hours: float
    low_dollars: float
    likely_dollars: float
    high_dollars: float
    own_log_sd: float
    shared_log_sd: float

    @property
    def cost_log_sd(self) -> float:
        """The log spread that the estimate's own low and high cost show."""
        if self.low_dollars <= 0:
            return 0.0
        return math.log(self.high_dollars / self.low_dollars) / (2 * HIGH_Z)

    @property
    def cost_parts(self) -> tuple[float, float]:
        """That spread in its own and its shared part, in the proportion that the hours have."""
        whole = math.hypot(self.own_log_sd, self.shared_log_sd)
        return (
            (self.cost_log_sd * self.own_log_sd / whole, self.cost_log_sd * self.shared_log_sd / whole)
            if whole
            else (0, 0)
        )


@dataclass(frozen=True, kw_only=True)
class Asked(Figures):
    """The same with its prescription."""

    prescription: Prescription


@dataclass(frozen=True)
class AskedRows(Sequence[Asked]):
    """Prescriptions in order. Whoever shows a part of them reads that part."""

    keys: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.keys)

    @overload
    def __getitem__(self, which: int) -> Asked: ...
    @overload
    def __getitem__(self, which: slice) -> list[Asked]: ...
    def __getitem__(self, which: int | slice) -> Asked | list[Asked]:
        return self._read(self.keys[which]) if isinstance(which, slice) else self._read((self.keys[which],))[0]

    def __iter__(self) -> Iterator[Asked]:
        for first in range(0, len(self.keys), AT_ONCE):
            yield from self._read(self.keys[first : first + AT_ONCE])

    def _read(self, keys: Sequence[int]) -> list[Asked]:
        rows = prescriptions().filter(pk__in=keys).select_related("estimate__rate_book")
        lean = rows.defer("estimate__inputs", "estimate__result", "estimate__survey__geometry", "patch__site__boundary")
        found = {row.pk: row for row in lean}
        return [asked_of(found[key]) for key in keys if key in found]


@dataclass(frozen=True)
class Totals:
    """A heap of prescriptions together; the range keeps the error that orders of one method share."""

    name: str
    count: int
    hours: SeasonFit
    dollars: SeasonFit


@dataclass(frozen=True)
class SeasonTotals:
    total: Totals
    by_method: tuple[Totals, ...]
    drivers: tuple[Driver, ...]
    rows: AskedRows


def season_totals(season: Season) -> SeasonTotals:
    """All that is asked for and not dropped; rows with the most hours first."""
    found = Prescription.objects.filter(season=season).exclude(state="dropped").order_by("patch_id", "id")
    told = list(found.values_list(*COLUMNS))
    names = {code: name for _, code, name, *_ in told}
    codes = sorted(names)
    place = {code: number for number, code in enumerate(codes)}
    columns = _Columns.of([row[3:] for row in told], [place[code] for _, code, *_ in told])
    order = np.argsort(-columns.hours, kind="stable")
    columns, keys = columns.at(order), [told[number][0] for number in order.tolist()]
    by_method = tuple(_totals(names[code], columns.at(columns.group == place[code])) for code in codes)
    drivers = (
        total_drivers(columns.hours, columns.own, columns.shared, columns.group, codes=codes, names=names)
        if told
        else ()
    )
    return SeasonTotals(_totals(season.name, columns), by_method, drivers, AskedRows(tuple(keys)))


@dataclass(frozen=True)
class _Columns:
    """Likely hours and dollars of prescriptions with their log spreads, one value a row: a season has thousands."""

    hours: FloatArray
    own: FloatArray
    shared: FloatArray
    dollars: FloatArray
    dollars_own: FloatArray
    dollars_shared: FloatArray
    group: IntArray

    @classmethod
    def of(cls, rows: Sequence[Sequence[float]], group: Sequence[int]) -> "_Columns":
        """From shares and figures of estimates; the spread of the dollars is parted as `Figures.cost_parts` has it."""
        table = np.array(rows, dtype=float).reshape(-1, 1 + len(OF_ESTIMATE))
        share, _, likely, _, low_cents, cents, high_cents, own, shared = table.T
        known = low_cents * share > 0
        spread = np.log(np.divide(high_cents, low_cents, out=np.ones(len(table)), where=known)) / (2 * HIGH_Z)
        whole = np.hypot(own, shared)
        scale = np.divide(spread, whole, out=np.zeros(len(table)), where=whole > 0)
        return cls(
            likely * share, own, shared, cents * share / CENTS, own * scale, shared * scale, np.array(group, np.int64)
        )

    def at(self, rows: IntArray | BoolArray) -> "_Columns":
        return _Columns(*(getattr(self, column.name)[rows] for column in fields(self)))


def _totals(name: str, of: _Columns) -> Totals:
    hours = season_fit(of.hours, of.own, of.shared, of.group)
    return Totals(name, len(of.hours), hours, season_fit(of.dollars, of.dollars_own, of.dollars_shared, of.group))


def _figures(share: float, *of_estimate: float) -> Figures:
    low_h, likely_h, high_h, low_cents, cents, high_cents, own, shared = of_estimate
    return Figures(
        low_hours=low_h * share,
        likely_hours=likely_h * share,
        high_hours=high_h * share,
        low_dollars=low_cents * share / CENTS,
        likely_dollars=cents * share / CENTS,
        high_dollars=high_cents * share / CENTS,
        own_log_sd=own,
        shared_log_sd=shared,
    )


def asked_of(row: Prescription) -> Asked:
    told = _figures(row.share_left, *(getattr(row.estimate, name) for name in OF_ESTIMATE))
    return Asked(prescription=row, **vars(told))
