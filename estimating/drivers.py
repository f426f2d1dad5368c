"""What drives a range: an order's spread, or a season's, split into the kinds of error that make it.

An order's kinds are independent and multiply, so that their log variances add up:

    variance of log hours = rates^2 + crew and ground^2 + cover^2 + infested area^2 + stems^2

A kind's low and high are the hours at its own 10 and 90% points with all others at their likely value; its share is
its log variance over their sum.

A season's drivers are the rates of each method, which all its orders share, and what the orders have of their own:

    variance of the total = sum over methods of Var(f_m(Z)) + sum over methods of E[v_m(Z)]

with f the total and v the variance of a method's orders given their shared error Z (see `spread.py`). Low and high are
the season's mean total with that driver alone at its 10 and 90% points.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.ground import MAINTENANCE_FROM_YEAR, Ground
from estimating.opened import OpenedJobs
from estimating.spread import HIGH_Z, season_fit, shared_and_own_variance

# Hours from here on are told without a decimal.
WHOLE_HOURS_FROM = 10
REASONS = 3


@dataclass(frozen=True)
class Driver:
    """One kind of error: what it is, in a sentence, and what it alone does to the hours.

    `log_sd` is None for a season, whose parts add up and do not multiply.
    """

    name: str
    text: str
    log_sd: float | None
    low_hours: float
    high_hours: float
    share_of_variance: float


def told(hours: float) -> str:
    """Hours as people say them."""
    return f"{hours:,.0f}" if hours >= WHOLE_HOURS_FROM else f"{hours:.1f}"


def _percent(cover: float) -> str:
    return f"{100 * cover:.3g}"


def _sentence(lead: str, low: float, high: float) -> str:
    return f"{lead}: that alone moves the hours from {told(low)} to {told(high)}."


@dataclass(frozen=True)
class _Leads:
    """What each kind of error of a job rests on; of several components the largest one speaks."""

    cover: list[str]
    area: list[str]
    stems: list[str]

    def of(self, job: int, largest: int) -> tuple[str, ...]:
        """By kind, in the order of KINDS."""
        return RATES_LEAD, CREW_LEAD, self.cover[largest], self.area[job], self.stems[job]


KINDS = ("rates", "crew and ground", "cover", "infested area", "stem count")
RATES_LEAD = "The rates of this method may be off for all its orders alike"
CREW_LEAD = "This crew on this ground may be quicker or slower than the rates"
AREA_LEADS = ("The area was judged by eye", "The area comes from a mapped outline")
STEMS_LEADS = ("Stems were counted in the field", "Stems were not counted, and a usual density stands in")


def _cover_leads(ground: Ground) -> list[str]:
    facts = ground.components
    columns = (facts.cover_low, facts.cover_high, ground.cover, facts.cover_from_class, ground.late)
    return [_cover_lead(*row) for row in zip(*(values.tolist() for values in columns), strict=True)]


def _cover_lead(cover_low: float, cover_high: float, usual: float, from_class: bool, late: bool) -> str:
    if late:
        return f"From year {MAINTENANCE_FROM_YEAR} on a usual cover of {_percent(usual)}% stands in for the survey's"
    low, high = _percent(cover_low), _percent(cover_high)
    if from_class:
        return f"Cover came as a class, {low}–{high}%"
    return f"Cover was judged at {low}%" if low == high else f"Cover was judged at {low}–{high}%"


def order_drivers(opened: OpenedJobs) -> list[tuple[Driver, ...]]:
    """Drivers of each job's range, widest first; kinds without any error are left out, and jobs have none without
    figures."""
    ground, effort, pairs = opened.ground, opened.effort, opened.pairs
    treats = ground.book.treats(opened.method)[ground.components.growth_form]
    assumed = pairs.by_job((ground.stems_assumed & treats).astype(np.float64)) > 0
    leads = _Leads(
        _cover_leads(ground),
        [AREA_LEADS[mapped] for mapped in ground.patches.area_mapped.tolist()],
        [STEMS_LEADS[some] for some in assumed.tolist()],
    )
    size = (ground.components.infested_area_m2 * treats).tolist()
    likely = opened.result.hours.likely[opened.rows].tolist()
    sds = (effort.shared_log_sd, effort.own_log_sd, effort.cover_log_sd, effort.area_log_sd, effort.stems_log_sd)
    by_job = zip(*(values.tolist() for values in sds), strict=True)
    found: list[tuple[Driver, ...]] = []
    for job, (ok, (first, end), own) in enumerate(zip(opened.ok, opened.spans(), by_job, strict=True)):
        largest = max(range(first, end), key=size.__getitem__) if ok else 0
        found.append(_drivers(likely[job], own, leads.of(job, largest)) if ok else ())
    return found


def _drivers(likely_hours: float, sds: Sequence[float], leads: Sequence[str]) -> tuple[Driver, ...]:
    total = math.fsum(sd**2 for sd in sds if sd > 0)
    found = []
    for name, sd, lead in zip(KINDS, sds, leads, strict=True):
        if sd > 0:
            low, high = (likely_hours * math.exp(side * HIGH_Z * sd) for side in (-1, 1))
            found.append(Driver(name, _sentence(lead, low, high), sd, low, high, sd**2 / total))
    return _widest_first(found)


def _widest_first(drivers: Sequence[Driver]) -> tuple[Driver, ...]:
    return tuple(sorted(drivers, key=lambda driver: (-driver.share_of_variance, driver.name)))


def reasons(drivers: Sequence[Driver]) -> tuple[str, ...]:
    """Sentences of the biggest drivers, at most three."""
    return tuple(driver.text for driver in drivers[:REASONS])


@dataclass(frozen=True)
class _Season:
    """A season's orders as the fit of its total takes them."""

    likely: FloatArray
    own: FloatArray
    shared: FloatArray
    group: IntArray

    @property
    def means(self) -> FloatArray:
        return self.likely * np.exp((self.own**2 + self.shared**2) / 2)

    def moved(self, rows: FloatArray, z: float) -> float:
        """The season's mean total with the shared error of some orders at z, all else at its mean."""
        alone = self.likely * np.exp(self.own**2 / 2 + z * self.shared)
        return float(np.where(rows, alone, self.means).sum())


def total_drivers(
    likely: FloatArray,
    own_log_sd: FloatArray,
    shared_log_sd: FloatArray,
    group: IntArray,
    *,
    codes: Sequence[str],
    names: Mapping[str, str] | None = None,
) -> tuple[Driver, ...]:
    """What drives the range of the total hours of orders [order], widest first.

    One driver for the rates of each method and one for all that the orders have of their own. `group` is the row of an
    order's method in `codes`; `names` are the methods' names for people, by code.
    """
    season = _Season(likely, own_log_sd, shared_log_sd, group)
    found: list[tuple[str, str, float, float, float]] = []
    own_variance = 0.0
    for number in np.unique(season.group):
        rows = season.group == number
        variance, own = shared_and_own_variance(season.likely[rows], season.own[rows], season.shared[rows])
        own_variance += own
        code = codes[int(number)]
        lead = f"The rates of {(names or {}).get(code, code)} may be off for all its orders alike"
        found.append((f"rates: {code}", lead, season.moved(rows, -HIGH_Z), season.moved(rows, HIGH_Z), variance))
    alone = season_fit(season.likely * np.exp(season.shared**2 / 2), season.own, np.zeros(len(likely)), season.group)
    lead = "Each order has a crew, a ground and a survey of its own"
    found.append(("orders' own", lead, alone.low, alone.high, own_variance))
    total = math.fsum(entry[-1] for entry in found)
    return _widest_first(
        [
            Driver(name, _sentence(lead, low, high), None, low, high, variance / total)
            for name, lead, low, high, variance in found
            if variance > 0
        ]
    )
