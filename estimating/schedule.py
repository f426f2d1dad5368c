"""Who does which visit on which day: a greedy start, improved round by round within a given number of rounds.

Greedy: visits in order of value per hour (drive included), then of deadline; each goes to the cheapest crew and day
that still has room, the earliest of equals. A round takes one crew's day and some visits left out, and puts all of them
back in a shuffled order; it is kept where the value of work done less its cost is no worse. The same inputs, rounds and
seed give the same plan.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.plan import Assignment, LeftOut, Plan, PlanInput
from estimating.pricing import to_cents
from estimating.units import MINUTES_PER_HOUR

Progress = Callable[[int, int], bool]

UNPLANNED = -1
# Sums of hours may pass an equal limit by their last digits.
ROUNDING_HOURS = 1e-9
# Visits left out that a round tries again beside those it takes up.
RETRIED = 12


@dataclass(frozen=True, eq=False)
class Arrays:
    """The plan's inputs as arrays; days, crews, sites and visits by index."""

    hours: FloatArray
    value: FloatArray
    site: IntArray
    first: IntArray
    last: IntArray
    able: BoolArray
    crew_day_hours: FloatArray
    site_open: BoolArray
    rate: FloatArray
    drive: FloatArray
    budget: float

    @classmethod
    def of(cls, plan_input: PlanInput) -> "Arrays":
        """Read a plan's inputs; a window outside the season ends up empty (last < first)."""
        visits, crews, days = plan_input.visits, plan_input.crews, plan_input.days
        sites = {site: index for index, site in enumerate(plan_input.drive_minutes)}
        season = plan_input.first_day
        works = np.array(
            [[day not in crew.days_off and day not in plan_input.days_off for day in days] for crew in crews]
        ).reshape(len(crews), len(days))
        minutes = np.array(list(plan_input.drive_minutes.values()))
        people = np.array([crew.people for crew in crews], np.float64)
        return cls(
            hours=np.array([visit.hours for visit in visits], np.float64),
            value=np.array([visit.value_cents for visit in visits], np.float64),
            site=np.array([sites[visit.site] for visit in visits], np.int64),
            first=np.array([max(0, (visit.first_day - season).days) for visit in visits], np.int64),
            last=np.array([min(len(days) - 1, (visit.last_day - season).days) for visit in visits], np.int64),
            able=np.array([[visit.skills <= crew.skills for crew in crews] for visit in visits]).reshape(
                len(visits), len(crews)
            ),
            crew_day_hours=works * np.array([crew.day_hours for crew in crews])[:, None],
            site_open=np.array(
                [[day not in plan_input.closed_days.get(site, ()) for day in days] for site in sites]
            ).reshape(len(sites), len(days)),
            rate=np.array([crew.cost_cents_per_hour for crew in crews], np.float64),
            drive=np.outer(people, minutes / MINUTES_PER_HOUR),
            budget=np.inf if plan_input.budget_cents is None else float(plan_input.budget_cents),
        )

    def order(self) -> IntArray:
        """Visits by value per hour with the mean drive, dearest first; then by deadline."""
        drive = self.drive.mean(axis=0)[self.site] if len(self.rate) else np.zeros(len(self.site))
        return np.lexsort((self.last, -self.value / (self.hours + drive)))


@dataclass(eq=False)
class Board:
    """A plan in the making: who is where when, and what is left of each crew's day."""

    arrays: Arrays
    crew: IntArray
    day: IntArray
    left: FloatArray
    at_site: IntArray
    cost: float = 0.0
    value: float = 0.0

    @classmethod
    def empty(cls, arrays: Arrays) -> "Board":
        """Nothing planned yet."""
        visits, (crews, days) = len(arrays.hours), arrays.crew_day_hours.shape
        return cls(
            arrays,
            np.full(visits, UNPLANNED),
            np.full(visits, UNPLANNED),
            arrays.crew_day_hours.copy(),
            np.zeros((crews, days, arrays.drive.shape[1]), np.int64),
        )

    def copy(self) -> "Board":
        """The same plan, to try something on."""
        return Board(
            self.arrays,
            self.crew.copy(),
            self.day.copy(),
            self.left.copy(),
            self.at_site.copy(),
            self.cost,
            self.value,
        )

    @property
    def score(self) -> float:
        """Value of the work done less its cost, cents."""
        return self.value - self.cost

    def taken(self, visit: int, crew: int, day: int) -> float:
        """Person-hours that the visit takes of the crew's day: its own, and the drive if it is the only one there."""
        site = self.arrays.site[visit]
        drive = 0.0 if self.at_site[crew, day, site] else float(self.arrays.drive[crew, site])
        return float(self.arrays.hours[visit]) + drive

    def best_place(self, visit: int) -> tuple[int, int] | None:
        """Cheapest crew and day with room, the earliest of equals, within the budget and worth its cost."""
        facts = self.arrays
        days = slice(int(facts.first[visit]), int(facts.last[visit]) + 1)
        crews = np.flatnonzero(facts.able[visit])
        if days.stop <= days.start or not crews.size:
            return None
        site = facts.site[visit]
        drive = np.where(self.at_site[crews, days, site] > 0, 0.0, facts.drive[crews, site][:, None])
        taken = facts.hours[visit] + drive
        cost = taken * facts.rate[crews][:, None]
        fits = (taken <= self.left[crews, days] + ROUNDING_HOURS) & (cost <= facts.value[visit])
        fits &= (self.cost + cost <= facts.budget) & facts.site_open[site, days]
        if not fits.any():
            return None
        cheapest = np.where(fits, cost, np.inf)
        day, place = np.unravel_index(np.argmin(cheapest.T), cheapest.T.shape)
        return int(crews[place]), int(day) + days.start

    def put(self, visit: int, crew: int, day: int) -> None:
        """Plan a visit."""
        taken = self.taken(visit, crew, day)
        self.crew[visit], self.day[visit] = crew, day
        self.left[crew, day] -= taken
        self.at_site[crew, day, self.arrays.site[visit]] += 1
        self.cost += taken * float(self.arrays.rate[crew])
        self.value += float(self.arrays.value[visit])

    def take_up(self, visit: int) -> None:
        """Take a planned visit out again."""
        crew, day = int(self.crew[visit]), int(self.day[visit])
        self.at_site[crew, day, self.arrays.site[visit]] -= 1
        taken = self.taken(visit, crew, day)
        self.crew[visit] = self.day[visit] = UNPLANNED
        self.left[crew, day] += taken
        self.cost -= taken * float(self.arrays.rate[crew])
        self.value -= float(self.arrays.value[visit])

    def fill(self, visits: IntArray) -> None:
        """Plan what fits, in the given order."""
        for visit in visits.tolist():
            place = self.best_place(visit)
            if place is not None:
                self.put(visit, *place)


def improve(board: Board, random: np.random.Generator) -> Board:
    """One round: take up a crew's day, try it and some of what is left out again in another order; keep the better."""
    planned = np.flatnonzero(board.crew != UNPLANNED)
    if not planned.size:
        return board
    anchor = int(random.choice(planned))
    same_day = (board.crew == board.crew[anchor]) & (board.day == board.day[anchor])
    waiting = np.flatnonzero(board.crew == UNPLANNED)
    retried = random.permutation(waiting)[:RETRIED]
    trial = board.copy()
    taken_up = np.flatnonzero(same_day)
    for visit in taken_up.tolist():
        trial.take_up(visit)
    trial.fill(random.permutation(np.concatenate([taken_up, retried])))
    return trial if trial.score >= board.score else board


def _reasons(board: Board, plan_input: PlanInput, visit: int) -> tuple[str, str]:
    """The first constraint that alone keeps a visit out, in plain words."""
    facts, need = board.arrays, plan_input.visits[visit]
    crews = np.flatnonzero(facts.able[visit])
    if not crews.size:
        return "skills", f"No crew has all of: {', '.join(sorted(need.skills)) or 'any skill'}."
    days = slice(int(facts.first[visit]), int(facts.last[visit]) + 1)
    if days.stop <= days.start:
        return "window", "Its window lies outside the season."
    may_work = facts.site_open[facts.site[visit], days]
    if not may_work.any():
        return "closed", "The site is closed on every day of its window."
    full_day = facts.crew_day_hours[crews, days] * may_work
    if not full_day.any():
        return "days off", "No crew with the skills works on any open day of its window."
    drive = facts.drive[crews, facts.site[visit]][:, None]
    alone = facts.hours[visit] + drive
    if (alone > full_day + ROUNDING_HOURS).all():
        return "too long", f"{need.hours:.1f} person-hours and the drive are more than any crew's day: split it."
    cost = alone * facts.rate[crews][:, None]
    if (cost > facts.value[visit]).all():
        return "value", "Doing it would cost more than it is worth."
    shared = np.where(board.at_site[crews, days, facts.site[visit]] > 0, 0.0, drive)
    room = facts.hours[visit] + shared <= board.left[crews, days] + ROUNDING_HOURS
    if not (room & may_work).any():
        return "crew time", "Every crew with the skills is full on every day of its window."
    return "budget", "The budget is used up by visits that are worth more for their cost."


def _plan(board: Board, plan_input: PlanInput, rounds: int, stopped: bool) -> Plan:
    visits, crews, days = plan_input.visits, plan_input.crews, plan_input.days
    planned = np.flatnonzero(board.crew != UNPLANNED)
    assignments = sorted(
        (Assignment(visits[v].id, crews[board.crew[v]].id, days[board.day[v]]) for v in planned.tolist()),
        key=lambda entry: (entry.day, entry.crew, entry.visit),
    )
    left_out = [
        LeftOut(visits[v].id, *_reasons(board, plan_input, v)) for v in np.flatnonzero(board.crew == UNPLANNED).tolist()
    ]
    return Plan(
        tuple(assignments),
        tuple(left_out),
        to_cents(Fraction(max(board.cost, 0.0)) / 100),
        sum(visits[v].value_cents for v in planned.tolist()),
        rounds,
        stopped,
    )


def go_on(done: int, total: int) -> bool:
    """A progress callback that never stops the search."""
    del done, total
    return True


def schedule(plan_input: PlanInput, iterations: int = 0, progress: Progress = go_on, seed: int = 0) -> Plan:
    """Plan a season: a greedy start, then `iterations` rounds of improvement.

    `progress(done, total)` is called before each round and ends the search by returning False.
    """
    board = Board.empty(Arrays.of(plan_input))
    board.fill(board.arrays.order())
    random = np.random.default_rng(seed)
    for done in range(iterations):
        if not progress(done, iterations):
            return _plan(board, plan_input, done, stopped=True)
        board = improve(board, random)
    progress(iterations, iterations)
    return _plan(board, plan_input, iterations, stopped=False)
