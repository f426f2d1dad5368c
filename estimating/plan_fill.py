"""The best filling of each of a crew's days at given prices: knapsacks with a drive for each site, all days at once.

For one crew, `worth[day, h]` is the most that the visits looked at so far bring in `h` steps of hours. Sites come one
after another: with the drive taken off, the site's visits are tried, and a day that gains nothing by the site keeps
what it had. What was taken is read back from the decisions.
"""

import math
from dataclasses import dataclass

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.plan_arrays import MONEY_PER_CENT, SLACK_TICKS, PlanArrays

LEAST = -1e18
# Steps of the finest grid; where all hours are multiples of a step that is no finer, that step is taken and is exact.
EXACT = 1000


@dataclass(frozen=True, eq=False)
class Item:
    """A visit that the crew is able to make: steps of hours, days from `first`, those of them it may be made on."""

    visit: int
    steps: int
    first: int
    may: BoolArray
    gain: FloatArray
    charge: float


@dataclass(frozen=True, eq=False)
class Stop:
    """A site: steps of hours and cost of the drive (0 where a standing visit pays it), and the visits there."""

    steps: IntArray
    cost: FloatArray
    items: tuple[Item, ...]


@dataclass(frozen=True, eq=False)
class Filled:
    """All of a crew's days at some prices: what they bring, how often each visit is made, cost of the drives."""

    total: float
    times: FloatArray
    road: float


@dataclass(frozen=True, eq=False)
class Filler:
    """A crew's days and the visits for them; `charge` by visit."""

    days: int
    room: IntArray
    stops: tuple[Stop, ...]
    charge: FloatArray

    @classmethod
    def of(
        cls,
        arrays: PlanArrays,
        crew: int,
        free: list[int],
        window: list[int],
        left: IntArray,
        there: list[int],
        grid: int,
    ) -> "Filler":
        """Read a crew's part; its longest day is cut in at most `grid` steps."""
        step = _step(arrays, crew, left, grid)
        by_site: dict[int, list[Item]] = {}
        charge = np.zeros(arrays.visits)
        for visit in free:
            options = arrays.by_crew[visit].get(crew)
            if options is None:
                continue
            join = options[0]
            able = window[visit] & arrays.days_able(visit, crew)
            bits = np.array([able >> day & 1 for day in range(arrays.days)], bool) & (left > 0)
            days = np.flatnonzero(bits)
            if not days.size:
                continue
            charge[visit] = join.charge / MONEY_PER_CENT
            span = slice(int(days[0]), int(days[-1]) + 1)
            gain = np.full(span.stop - span.start, (arrays.worth[visit] - join.cost) / MONEY_PER_CENT)
            kept = arrays.previous.get(visit)
            if kept and kept[0] == crew and span.start <= kept[1] < span.stop:
                gain[kept[1] - span.start] += arrays.penalty / MONEY_PER_CENT
            item = Item(visit, join.need // step, span.start, bits[span], gain, float(charge[visit]))
            by_site.setdefault(arrays.site[visit], []).append(item)
        stops = tuple(_stop(arrays, crew, site, items, there, step) for site, items in by_site.items())
        return cls(arrays.days, left // step, stops, charge)

    def fill(self, toll: FloatArray, per_charge: FloatArray, per_road: float) -> Filled:
        """Fill each day for the best at a toll a visit and a price per charge."""
        worth = np.zeros((self.days, int(self.room.max(initial=0)) + 1))
        history = [self._at_stop(stop, worth, toll, per_charge, per_road) for stop in self.stops]
        best = worth[np.arange(self.days), self.room]
        times, road = np.zeros(len(toll)), 0.0
        room = self.room.copy()
        for stop, (opened, tried) in zip(reversed(self.stops), reversed(history), strict=True):
            there = opened[np.arange(self.days), room]
            if not there.any():
                continue
            for item, took in reversed(tried):
                days = slice(item.first, item.first + len(item.may))
                taken = took[np.arange(len(item.may)), room[days]] & there[days]
                room[days] -= item.steps * taken
                times[item.visit] += taken.sum()
            room -= stop.steps * there
            road += float(stop.cost @ there)
        return Filled(float(best.sum()), times, road)

    def _at_stop(
        self, stop: Stop, worth: FloatArray, toll: FloatArray, per_charge: FloatArray, per_road: float
    ) -> tuple[BoolArray, list[tuple[Item, BoolArray]]]:
        """Let every day try a site; `worth` is changed in place."""
        tried = []
        with_site = _driven(stop, worth, per_road)
        for item in stop.items:
            profit = item.gain - toll[item.visit] - per_charge[item.visit] * item.charge
            profit = np.where(item.may, profit, LEAST)
            if profit.max() <= 0 or item.steps >= with_site.shape[1]:
                continue
            rows = with_site[item.first : item.first + len(profit)]
            took = np.zeros(rows.shape, bool)
            offer = rows[:, : rows.shape[1] - item.steps] + profit[:, None]
            now = rows[:, item.steps :]
            np.greater(offer, now, out=took[:, item.steps :])
            np.maximum(now, offer, out=now)
            tried.append((item, took))
        opened = with_site > worth
        np.maximum(worth, with_site, out=worth)
        return opened, tried


def _step(arrays: PlanArrays, crew: int, left: IntArray, grid: int) -> int:
    """Ticks of a step: the greatest common divisor of all hours where that is coarse enough, else as `grid` says.

    Visits and days are both rounded down to it, which never shuts out a filling that truly fits.
    """
    longest = int(left.max(initial=0))
    hours = {options[crew][0].need for options in arrays.by_crew if crew in options}
    hours |= {*arrays.drive[crew], *(each - SLACK_TICKS for each in left.tolist() if each > SLACK_TICKS)}
    common = math.gcd(*hours)
    return common if common and longest // common <= grid else longest // grid + 1


def _stop(arrays: PlanArrays, crew: int, site: int, items: list[Item], there: list[int], step: int) -> Stop:
    stands = there[crew * arrays.sites + site]
    drives = np.array([not stands >> day & 1 for day in range(arrays.days)])
    steps = arrays.drive[crew][site] // step * drives
    return Stop(steps, arrays.drive_cost[crew][site] / MONEY_PER_CENT * drives, tuple(items))


def _driven(stop: Stop, worth: FloatArray, per_road: float) -> FloatArray:
    """What each day has left to bring after the drive to a site."""
    toll = (1 + per_road) * stop.cost
    most = int(stop.steps.max(initial=0))
    if most == 0:
        return worth - toll[:, None]
    moved = np.full_like(worth, LEAST)
    if most < worth.shape[1]:
        moved[:, most:] = worth[:, :-most] - toll[:, None]
    free = stop.steps == 0
    moved[free] = worth[free]
    return moved
