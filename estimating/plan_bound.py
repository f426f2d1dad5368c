"""What no plan can beat: a bound on a season's cost, quick at first and tightened round by round.

The cost of a plan is the value of visits left out plus what is worked and driven (plus what moves cost). Two Lagrangian
relaxations bound it from below; both hold at whatever prices, so that each round's bound is valid:

1. Quick: a price on each crew's hours of each day, on the budgets and on the chains (the second visit no more than the
   first). Each visit then takes its best crew and day by itself. The drive is shared out by hours: a day of `capacity`
   hours with a drive of `d` holds at most `capacity - d` hours of visits at that site, so an hour of visits takes at
   least `capacity / (capacity - d)` hours of the day. The prices follow the slope of the maximum smoothed by softmax.
2. Tight: a price on each visit (being made at most once), on the budgets and on the chains. Each crew's day then fills
   itself for the best (`plan_fill`). With the prices of the quick bound it is no worse than that, but for the grid.

Left out of both: lags of chains beyond the windows, equipment, and the drive's share in the funds' budgets; each could
only raise the cost. Lagrange multipliers, softmax smoothing and steps scaled by the mean square of past slopes: common
practice of optimization, from memory. That the bounds hold is tested against full enumeration.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.plan import PlanInput
from estimating.plan_arrays import MONEY_PER_CENT, TICKS_PER_HOUR, PlanArrays, plan_arrays
from estimating.plan_board import Board
from estimating.plan_fill import EXACT, Filler

QUICK_ROUNDS, COARSE_ROUNDS = 400, 120
COARSE_GRID = 100
# Length of the first steps in shares of a typical price, for each of the three parts.
QUICK_STEP, COARSE_STEP, FINE_STEP = 0.06, 0.03, 0.006


@dataclass(frozen=True)
class Bound:
    """No plan costs less than `least_cents`, found after so many rounds."""

    least_cents: int
    rounds: int


class Descent:
    """Prices (0 or more) that go down along slopes smoothed over rounds, each in steps of its own size."""

    def __init__(self, prices: FloatArray, sizes: FloatArray) -> None:
        self.prices, self.sizes = prices, sizes
        self.course, self.square, self.rounds = np.zeros_like(prices), np.zeros_like(prices), 0
        self.least, self.best = np.inf, prices

    def seen(self, total: float) -> None:
        """Remember the best prices so far."""
        if total < self.least:
            self.least, self.best = total, self.prices

    def step(self, slope: FloatArray, length: float) -> None:
        """Go on by one step."""
        self.rounds += 1
        self.course = 0.9 * self.course + 0.1 * slope
        self.square = 0.98 * self.square + 0.02 * slope**2
        course = self.course / (1 - 0.9**self.rounds)
        size = np.sqrt(self.square / (1 - 0.98**self.rounds)) + 1e-12
        self.prices = np.maximum(0.0, self.prices - length * self.sizes * course / size)


@dataclass(frozen=True, eq=False)
class BoundFacts:
    """What both relaxations read: what visits that stand leave free, in ticks, and money in cents."""

    arrays: PlanArrays
    base: float
    everything: float
    free: list[int]
    left: IntArray
    budgets: FloatArray
    window: list[int]
    there: list[int]
    fund: IntArray
    first: IntArray
    second: IntArray
    scale: float

    @classmethod
    def of(cls, given: PlanInput) -> "BoundFacts":
        """Read a plan's inputs and place the visits that stand."""
        arrays = plan_arrays(given)
        board = Board(arrays)
        base = sum(arrays.worth[visit] for visit in board.standing) - board.cost
        windows = [_reachable(arrays, visit) for visit in range(arrays.visits)]
        free = [visit for visit in range(arrays.visits) if visit not in board.standing and windows[visit]]
        links = [(link.visit, visit) for visit in free for link in arrays.before[visit]]
        pairs = np.array([pair for pair in links if pair[0] not in board.standing], np.int64).reshape(-1, 2)
        return cls(
            arrays=arrays,
            base=base / MONEY_PER_CENT,
            everything=(sum(arrays.worth) + arrays.penalty * len(arrays.previous)) / MONEY_PER_CENT,
            free=free,
            left=np.maximum(0, np.array(board.left, np.int64)).reshape(arrays.crews, arrays.days),
            budgets=np.array([min(max(0, m) / MONEY_PER_CENT, 1e15) for m in [board.money, *board.fund_money]]),
            window=windows,
            there=board.there,
            fund=np.array(arrays.fund, np.int64),
            first=pairs[:, 0],
            second=pairs[:, 1],
            scale=max(1.0, sum(arrays.worth) / MONEY_PER_CENT / max(1, arrays.visits)),
        )

    def least(self, total: float) -> int:
        """The bound on cost from a bound on value less cost; a last digit is given away."""
        gap = self.everything - self.base - total
        return int(np.floor(gap - 1e-9 * self.everything))

    def tolls(self, links: FloatArray) -> FloatArray:
        """By visit: what the prices of its chains take from its gain."""
        count = self.arrays.visits
        return summed(self.second, links, count) - summed(self.first, links, count)

    def per_charge(self, money: FloatArray) -> FloatArray:
        """By visit: the price of a cent of its charge, by the season's budget and its fund's."""
        return np.asarray(money[0] + np.where(self.fund >= 0, money[self.fund + 1], 0.0), np.float64)

    def spent(self, charge: FloatArray) -> FloatArray:
        """What each budget pays of the visits' charges."""
        spent = summed(self.fund + 1, charge, len(self.budgets))
        spent[0] = charge.sum()
        return spent


def _reachable(arrays: PlanArrays, visit: int) -> int:
    """Days of a visit's window that the windows of those before it can lead to."""
    standing = {stands: day for stands, _, day in arrays.fixed}
    days = arrays.window[visit]
    for link in arrays.before[visit]:
        bits, fits = arrays.window[link.visit], 0
        if link.visit in standing:
            bits = 1 << standing[link.visit]
        for lag in range(link.least, min(link.most, arrays.days) + 1):
            fits |= bits << lag
        days &= fits
    return days


def summed(into: IntArray, amounts: FloatArray, count: int) -> FloatArray:
    """Amounts added up by number."""
    return np.bincount(into, amounts, count).astype(np.float64)


def _bits(bits: int, count: int) -> IntArray:
    """Numbers of the bits that are set."""
    return np.flatnonzero([bits >> number & 1 for number in range(count)])


class Quick:
    """The first relaxation: each visit on each crew and day with the hours it takes, its gain and its charge."""

    def __init__(self, facts: BoundFacts) -> None:
        self.facts = facts
        none = np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0), np.zeros(0), np.zeros(0)
        rows = [none, *(row for visit in facts.free for row in self._rows(visit))]
        self.visit, self.crew_day = (np.concatenate([row[column] for row in rows]) for column in (0, 1))
        self.hours, self.gain, self.charge = (np.concatenate([row[column] for row in rows]) for column in (2, 3, 4))
        self.starts = np.flatnonzero(np.r_[True, np.diff(self.visit) > 0][: len(self.visit)])
        self.segment = np.repeat(np.arange(len(self.starts)), np.diff(np.r_[self.starts, len(self.visit)]))
        self.left = facts.left.ravel() / TICKS_PER_HOUR

    def _rows(self, visit: int) -> Iterator[tuple[IntArray, IntArray, FloatArray, FloatArray, FloatArray]]:
        arrays, left = self.facts.arrays, self.facts.left
        every = _bits(self.facts.window[visit], arrays.days)
        for crew, (join, trip) in arrays.by_crew[visit].items():
            away = arrays.away[visit].get(crew, 0)
            days = every[[not away >> int(day) & 1 for day in every]] if away else every
            drives = np.ones(len(days))
            if self.facts.there[join.crew_site]:
                drives[[bool(self.facts.there[join.crew_site] >> int(day) & 1) for day in days]] = 0.0
            room = left[crew, days] - (trip.need - join.need) * drives
            fits = join.need <= room
            chosen, part = days[fits], (join.need / np.maximum(room, 1) * drives)[fits]
            gain = np.full(len(chosen), (arrays.worth[visit] - join.cost) / MONEY_PER_CENT)
            kept = arrays.previous.get(visit)
            if kept and kept[0] == crew:
                gain[chosen == kept[1]] += arrays.penalty / MONEY_PER_CENT
            road = (trip.cost - join.cost) / MONEY_PER_CENT * part
            hours = (join.need + (trip.need - join.need) * part) / TICKS_PER_HOUR
            charge = join.charge / MONEY_PER_CENT + road
            yield np.full(len(chosen), visit), crew * arrays.days + chosen, hours, gain - road, charge

    def sizes(self) -> FloatArray:
        """Typical prices: of an hour, of a cent, of a chain."""
        hour = self.facts.scale / 8
        parts = (len(self.left), hour), (len(self.facts.budgets), 1.0), (len(self.facts.first), 0.3 * self.facts.scale)
        return np.concatenate([np.full(count, size) for count, size in parts])

    def split(self, prices: FloatArray) -> list[FloatArray]:
        """Prices of crew-days, budgets and chains."""
        return np.split(prices, [len(self.left), len(self.left) + len(self.facts.budgets)])

    def gains(self, prices: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What each row of visits gains at some prices, and the most of each visit (0: left out)."""
        hour, money, links = self.split(prices)
        visit = self.facts.per_charge(money)[self.visit] * self.charge + self.facts.tolls(links)[self.visit]
        profit = self.gain - visit - hour[self.crew_day] * self.hours
        return profit, np.maximum(0.0, np.maximum.reduceat(profit, self.starts)) if len(self.starts) else np.zeros(0)

    def at(self, prices: FloatArray, softness: float) -> tuple[float, FloatArray]:
        """The relaxation's total at some prices, and the slope of the total smoothed over `softness` cents."""
        facts, (hour, money, _) = self.facts, self.split(prices)
        profit, most = self.gains(prices)
        total = float(hour @ self.left + money @ facts.budgets + most.sum())
        share = np.exp((profit - most[self.segment]) / softness)
        if len(self.starts):
            share /= (np.add.reduceat(share, self.starts) + np.exp(-most / softness))[self.segment]
        made = summed(self.visit, share, facts.arrays.visits)
        spent = facts.spent(summed(self.visit, share * self.charge, facts.arrays.visits))
        used = summed(self.crew_day, share * self.hours, len(self.left))
        return total, np.r_[self.left - used, facts.budgets - spent, made[facts.first] - made[facts.second]]


class Tight:
    """The second relaxation: prices on visits, budgets and chains."""

    def __init__(self, facts: BoundFacts, grid: int) -> None:
        self.facts, self.visits = facts, facts.arrays.visits
        self.fillers = [
            Filler.of(facts.arrays, crew, facts.free, facts.window, facts.left[crew], facts.there, grid)
            for crew in range(facts.arrays.crews)
        ]
        self.sizes = np.r_[
            np.full(self.visits, 0.15 * facts.scale),
            np.ones(len(facts.budgets)),
            np.full(len(facts.first), 0.15 * facts.scale),
        ]

    def start(self, quick: Quick, prices: FloatArray) -> FloatArray:
        """Prices to begin with: for each visit what it gains by the quick bound."""
        _, money, links = quick.split(prices)
        gains = np.zeros(self.visits)
        gains[quick.visit[quick.starts]] = quick.gains(prices)[1]
        return np.concatenate([gains, money, links])

    def at(self, prices: FloatArray) -> tuple[float, FloatArray]:
        """The relaxation's total at some prices, and its slope."""
        facts = self.facts
        visit, money, links = np.split(prices, [self.visits, self.visits + len(facts.budgets)])
        toll, per_charge = visit + facts.tolls(links), facts.per_charge(money)
        total = float(visit.sum() + money @ facts.budgets)
        times, spent = np.zeros(self.visits), np.zeros(len(facts.budgets))
        for filler in self.fillers:
            filled = filler.fill(toll, per_charge, float(money[0]))
            total += filled.total
            times += filled.times
            spent += facts.spent(filled.times * filler.charge)
            spent[0] += filled.road
        return total, np.concatenate([1 - times, facts.budgets - spent, times[facts.first] - times[facts.second]])


def _quick_totals(facts: BoundFacts, quick: Quick, descent: Descent) -> Iterator[float]:
    for done in range(QUICK_ROUNDS):
        share = done / QUICK_ROUNDS
        total, slope = quick.at(descent.prices, facts.scale * 0.1 * 0.01**share)
        descent.seen(total)
        descent.step(slope, QUICK_STEP * 0.01**share)
        yield total


def _tight_totals(tight: Tight, descent: Descent, length: float) -> Iterator[float]:
    """Without end; steps shrink as 1 / (1 + rounds / 15)."""
    while True:
        total, slope = tight.at(descent.prices)
        descent.seen(total)
        descent.step(slope, length / (1 + descent.rounds / 15))
        yield total


def _totals(facts: BoundFacts) -> Iterator[float]:
    quick = Quick(facts)
    sizes = quick.sizes()
    descent = Descent(np.zeros_like(sizes), sizes)
    yield from _quick_totals(facts, quick, descent)
    coarse = Tight(facts, COARSE_GRID)
    descent = Descent(coarse.start(quick, descent.best), coarse.sizes)
    yield from islice(_tight_totals(coarse, descent, COARSE_STEP), COARSE_ROUNDS)
    fine = Tight(facts, EXACT)
    yield from _tight_totals(fine, Descent(descent.best, fine.sizes), FINE_STEP)


def bounds(given: PlanInput) -> Iterator[Bound]:
    """Ever better bounds, without end; the caller takes as many as it has time for."""
    facts = BoundFacts.of(given)
    best = None
    for rounds, total in enumerate(_totals(facts), start=1):
        least = facts.least(total)
        best = least if best is None else max(best, least)
        yield Bound(best, rounds)


def plan_bound(given: PlanInput, rounds: int = QUICK_ROUNDS) -> Bound:
    """The bound after a number of rounds; the first `QUICK_ROUNDS` are the quick ones."""
    return list(islice(bounds(given), max(1, rounds)))[-1]
