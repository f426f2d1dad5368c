"""What a season asks for in hours and money, with its range, and what drives that range."""

import math
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.drivers import Driver, total_drivers
from estimating.spread import HIGH_Z, SeasonFit, season_fit
from orders.planning.models import Prescription, Season
from orders.planning.selectors import prescriptions

CENTS = 100


@dataclass(frozen=True)
class Asked:
    """One prescription's part of its estimate: what is left of it in hours and dollars, and how sure that is."""

    prescription: Prescription
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
    rows: tuple[Asked, ...]


def season_totals(season: Season) -> SeasonTotals:
    """All that is asked for and not dropped; rows with the most hours first."""
    found = prescriptions(season).exclude(state="dropped").select_related("estimate__rate_book")
    lean = found.defer("estimate__inputs", "estimate__result", "estimate__survey__geometry", "patch__site__boundary")
    rows = sorted((asked_of(row) for row in lean), key=lambda row: -row.likely_hours)
    names = {row.prescription.method.code: row.prescription.method.name for row in rows}
    codes = sorted(names)
    group = np.array([codes.index(row.prescription.method.code) for row in rows], np.int64)
    by_method = tuple(
        _totals(names[code], [row for row in rows if row.prescription.method.code == code], np.zeros(1, np.int64))
        for code in codes
    )
    likely, own, shared = _hours(rows)
    drivers = total_drivers(likely, own, shared, group, codes=codes, names=names) if rows else ()
    return SeasonTotals(_totals(season.name, rows, group), by_method, drivers, tuple(rows))


def asked_of(row: Prescription) -> Asked:
    estimate, share = row.estimate, row.share_left
    return Asked(
        prescription=row,
        low_hours=estimate.hours_low * share,
        likely_hours=estimate.hours_likely * share,
        high_hours=estimate.hours_high * share,
        low_dollars=estimate.cost_low_cents * share / CENTS,
        likely_dollars=estimate.total_cents * share / CENTS,
        high_dollars=estimate.cost_high_cents * share / CENTS,
        own_log_sd=estimate.own_log_sd,
        shared_log_sd=estimate.shared_log_sd,
    )


def _hours(rows: list[Asked]) -> tuple[FloatArray, FloatArray, FloatArray]:
    table = np.array([(row.likely_hours, row.own_log_sd, row.shared_log_sd) for row in rows], dtype=float)
    likely, own, shared = table.reshape(-1, 3).T
    return likely, own, shared


def _dollars(rows: list[Asked]) -> tuple[FloatArray, FloatArray, FloatArray]:
    table = np.array([(row.likely_dollars, *row.cost_parts) for row in rows], dtype=float)
    likely, own, shared = table.reshape(-1, 3).T
    return likely, own, shared


def _totals(name: str, rows: list[Asked], group: IntArray) -> Totals:
    groups = group if len(group) == len(rows) else np.zeros(len(rows), np.int64)
    return Totals(name, len(rows), season_fit(*_hours(rows), groups), season_fit(*_dollars(rows), groups))
