"""The exact solver on parts of a plan: take some visits and crew-days, fix the rest, and find the best for them.

The one module that loads OR-Tools, and only when it is called. One worker and a limit in the solver's own deterministic
seconds, so that the same plan, seed and work give the same answer. What the solver finds is put on the board by the
same rules as everything else, and undone where it is no better.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, wait
from typing import Any, NamedTuple

from ortools.sat.python import cp_model

from estimating.plan_arrays import MONEY_PER_CENT, PlanArrays
from estimating.plan_board import Board
from estimating.plan_search import Search

# How often it is asked whether to go on.
ASK_SECONDS = 2.0
# Work of one part, in deterministic seconds; days, crews and waiting visits of a part.
PART_WORK = 1.0
PART_DAYS, PART_CREWS, PART_WAITING = 3, 4, 40
# The solver's sums must stay below this.
MOST = 1 << 60


class Spot(NamedTuple):
    """A visit on a crew's day."""

    visit: int
    crew: int
    day: int


class _Part:
    """The model of one part: data, variables, one block a constraint, objective."""

    def __init__(self, board: Board, visits: list[int], crew_days: set[int]) -> None:
        self.board, self.facts, self.model = board, board.facts, cp_model.CpModel()
        self.visits = set(visits)
        self.crew_days = crew_days
        self.made: dict[int, Any] = {}
        self.spots: dict[Spot, Any] = {}
        self.drives: dict[tuple[int, int, int], Any] = {}
        self._variables()
        self._once()
        self._drives()
        self._hours()
        self._budgets()
        self._chains()
        self._equipment()

    def _variables(self) -> None:
        for visit in sorted(self.visits):
            bits = self.board.days_between(visit, self.visits)
            self.made[visit] = self.model.new_bool_var("")
            for crew_day in sorted(self.crew_days):
                crew, day = divmod(crew_day, self.board.days)
                both = self.facts.by_crew[visit].get(crew)
                able = bits & self.facts.days_able(visit, crew)
                fits = both and able >> day & 1 and both[0].need <= self.board.left[crew_day]
                if fits and not self.board.lacks(visit, crew, day):
                    self.spots[Spot(visit, crew, day)] = self.model.new_bool_var("")

    def _once(self) -> None:
        """Each visit once at most; one that a visit outside comes after must stay made."""
        found = self._by(lambda spot: spot.visit)
        for visit, made in self.made.items():
            self.model.add(sum(var for _, var in found[visit]) == made)
            outside = (link.visit for link in self.facts.after[visit] if link.visit not in self.visits)
            if any(self.board.crew[other] >= 0 for other in outside):
                self.model.add(made == 1)

    def _drives(self) -> None:
        """A crew drives to each site that it has visits at on a day, but where it is anyway."""
        for spot, var in self.spots.items():
            site = self.facts.site[spot.visit]
            if self.board.there[spot.crew * self.facts.sites + site] >> spot.day & 1:
                continue
            key = spot.crew, spot.day, site
            if key not in self.drives:
                self.drives[key] = self.model.new_bool_var("")
            self.model.add_implication(var, self.drives[key])

    def _hours(self) -> None:
        """Work and drives of a crew's day are no longer than what is left of it."""
        found = self._by(lambda spot: spot.crew * self.board.days + spot.day)
        roads: dict[int, list[tuple[int, Any]]] = defaultdict(list)
        for (crew, day, site), var in self.drives.items():
            roads[crew * self.board.days + day].append((self.facts.drive[crew][site], var))
        for crew_day, spots in found.items():
            work = sum(self.facts.hours[spot.visit] * var for spot, var in spots)
            self.model.add(work + sum(hours * var for hours, var in roads[crew_day]) <= self.board.left[crew_day])

    def _budgets(self) -> None:
        """The season's budget, and each fund's, which is taken to bear every drive of its visits alone."""
        facts = self.facts
        charge = {spot: facts.by_crew[spot.visit][spot.crew][0].charge for spot in self.spots}
        if facts.budget is not None:
            work = sum(_up(charge[spot]) * var for spot, var in self.spots.items())
            road = sum(_up(facts.drive_cost[crew][site]) * var for (crew, _, site), var in self.drives.items())
            self.model.add(work + road <= max(0, self.board.money) // MONEY_PER_CENT)
        for fund, spots in self._by(lambda spot: facts.fund[spot.visit]).items():
            if fund >= 0:
                self._fund(fund, spots, charge)

    def _fund(self, fund: int, spots: list[tuple[Spot, Any]], charge: dict[Spot, int]) -> None:
        roads = {}
        terms = []
        for spot, var in spots:
            site = self.facts.site[spot.visit]
            terms.append(_up(charge[spot]) * var)
            key = spot.crew, spot.day, site
            if key not in roads:
                roads[key] = self.model.new_bool_var("")
                terms.append(_up(self.facts.drive_cost[spot.crew][site]) * roads[key])
            self.model.add_implication(var, roads[key])
        self.model.add(sum(terms) <= max(0, self.board.fund_money[fund]) // MONEY_PER_CENT)

    def _chains(self) -> None:
        """The second visit only on days that its first allows."""
        by_day: dict[tuple[int, int], list[Any]] = defaultdict(list)
        for spot, var in self.spots.items():
            by_day[spot.visit, spot.day].append(var)
        for (visit, day), seconds in by_day.items():
            for link in self.facts.before[visit]:
                if link.visit in self.visits:
                    lags = range(day - link.most, day - link.least + 1)
                    firsts = sum(var for each in lags for var in by_day.get((link.visit, each), ()))
                    self.model.add(sum(seconds) <= firsts)

    def _equipment(self) -> None:
        """What all crews have out on a day is no more than there is."""
        out: dict[tuple[int, int], dict[int, Any]] = defaultdict(dict)
        for spot, var in self.spots.items():
            for kind, units in self.facts.equipment[spot.visit]:
                crews = out[kind, spot.day]
                if spot.crew not in crews:
                    here = self.board.in_use[kind][spot.crew * self.board.days + spot.day]
                    crews[spot.crew] = self.model.new_int_var(here, max(here, self.facts.units[kind]), "")
                self.model.add(crews[spot.crew] >= units * var)
        for (kind, day), crews in out.items():
            use = self.board.in_use[kind][day :: self.board.days]
            others = sum(units for crew, units in enumerate(use) if crew not in crews)
            self.model.add(sum(crews.values()) <= max(0, self.facts.units[kind] - others))

    def _by(self, key: Callable[[Spot], int]) -> dict[int, list[tuple[Spot, Any]]]:
        found: dict[int, list[tuple[Spot, Any]]] = defaultdict(list)
        for spot, var in self.spots.items():
            found[key(spot)].append((spot, var))
        return found

    def gain(self, spot: Spot) -> int:
        """What a visit there brings, less the drive, in cents."""
        facts = self.facts
        kept = facts.penalty if facts.previous.get(spot.visit) == (spot.crew, spot.day) else 0
        return (facts.value[spot.visit] + kept - facts.by_crew[spot.visit][spot.crew][0].cost) // MONEY_PER_CENT

    def solve(self, work: float, seed: int, hint: list[Spot], going: Callable[[], bool]) -> list[Spot]:
        """The best spots found, until the work is done or `going` says no."""
        facts = self.facts
        gains = {spot: self.gain(spot) for spot in self.spots}
        if sum(abs(gain) for gain in gains.values()) >= MOST:
            return hint
        road = sum(_up(facts.drive_cost[crew][site]) * var for (crew, _, site), var in self.drives.items())
        self.model.maximize(sum(gains[spot] * var for spot, var in self.spots.items()) - road)
        for spot, var in self.spots.items():
            self.model.add_hint(var, spot in hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = seed
        solver.parameters.max_deterministic_time = work
        if _solved(solver, self.model, going) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return hint
        return [spot for spot, var in self.spots.items() if solver.boolean_value(var)]


def _solved(solver: cp_model.CpSolver, model: cp_model.CpModel, going: Callable[[], bool]) -> Any:
    """Solve beside this thread, which asks meanwhile whether to go on: a whole plan takes minutes."""
    with ThreadPoolExecutor(max_workers=1) as beside:
        solving = beside.submit(solver.solve, model)
        try:
            while not solving.done():
                wait([solving], timeout=ASK_SECONDS)
                if not solving.done() and not going():
                    solver.stop_search()
        finally:
            solver.stop_search()  # where `going` itself fails, nobody waits for the rest
        return solving.result()


def _up(money: int) -> int:
    """Cents, rounded up."""
    return -(-money // MONEY_PER_CENT)


def repair(
    search: Search,
    visits: list[int],
    crew_days: set[int],
    work: float,
    seed: int,
    going: Callable[[], bool] = lambda: True,
) -> bool:
    """Solve a part exactly as far as the work goes; whether the plan got better."""
    board = search.board
    free = [visit for visit in dict.fromkeys(visits) if visit not in board.standing]
    was = [Spot(visit, board.crew[visit], board.day[visit]) for visit in free if board.crew[visit] >= 0]
    score = board.score
    for spot in reversed(was):
        board.take_up(spot.visit)
    found = _Part(board, free, crew_days).solve(work, seed, was, going)
    placed = _put_all(board, found)
    if placed == len(found) and board.score > score and not board.overspent:
        search.best_score, search.best = board.score, board.places()
        return True
    for visit in free:
        if board.crew[visit] >= 0:
            board.take_up(visit)
    for spot in was:
        board.put(*spot)
    return False


def _put_all(board: Board, spots: list[Spot]) -> int:
    """Put spots that the rules allow, firsts before seconds; how many."""
    count = 0
    for spot in sorted(spots, key=lambda spot: spot.day):
        if board.may(*spot):
            board.put(*spot)
            count += 1
    return count


def parts(search: Search) -> Iterator[tuple[list[int], set[int]]]:
    """Parts of the plan without end: a few days of a few crews, and waiting visits that could be made there."""
    board, facts = search.board, search.facts
    while True:
        first = search.below(max(1, facts.days - PART_DAYS + 1))
        days = range(first, min(facts.days, first + PART_DAYS))
        crews = {search.below(facts.crews) for _ in range(PART_CREWS)}
        crew_days = {crew * facts.days + day for crew in crews for day in days}
        inside = [visit for crew_day in sorted(crew_days) for visit in board.at[crew_day]]
        yield inside + _waiting(search, crews, days), crew_days


def _waiting(search: Search, crews: set[int], days: range) -> list[int]:
    able = of_day = 0
    for crew in crews:
        able |= search.by_crew[crew]
    for day in days:
        of_day |= search.by_day[day]
    bits = search.board.waiting & able & of_day
    found: list[int] = []
    while bits and len(found) < PART_WAITING:
        low = bits & -bits
        bits ^= low
        if search.chance() < 0.5:
            found.append(low.bit_length() - 1)
    return found


def improve_exactly(
    search: Search, work: float, seed: int, *, whole: bool, told: Callable[[], None], going: Callable[[], bool]
) -> bool:
    """Improve the plan for so many deterministic seconds: as a whole, or part after part while `going` says so.

    Whether it was stopped before.
    """
    facts: PlanArrays = search.facts
    if not facts.visits or not facts.crews:
        return False
    if whole:
        everything = {
            crew_day for crew_day, hours in enumerate(search.board.left) if hours > 0 or search.board.at[crew_day]
        }
        if repair(search, list(range(facts.visits)), everything, work, seed, going):
            told()
        return not going()
    for number, (visits, crew_days) in zip(range(max(1, round(work / PART_WORK))), parts(search), strict=False):
        if not going():
            return True
        if repair(search, visits, crew_days, PART_WORK, seed + number):
            told()
    return False
