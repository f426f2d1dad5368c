"""Who does which visit on which day: a greedy start, improved within a given number of rounds.

Greedy: visits in order of value per hour (drive included), owed ones first, each to the cheapest crew with room, on the
day that it fills best. Then a search by large neighbourhoods (`plan_search`), and for small plans or where the search
has flattened an exact solver on parts of the plan (`plan_repair`). In the end single visits move wherever that costs
less. Fixed visits stay; the same inputs, rounds, seed and work of the exact solver give the same plan. What no plan can
beat is in `plan_bound`.
"""

from collections.abc import Callable
from fractions import Fraction

import numpy as np

from estimating.plan import Assignment, FundUse, Plan, PlanInput
from estimating.plan_arrays import MONEY_PER_CENT, NOWHERE, plan_arrays
from estimating.plan_board import Board
from estimating.plan_reasons import Reasons
from estimating.plan_search import Search
from estimating.pricing import to_cents
from estimating.spread import season_fit

Progress = Callable[[int, int], bool]
Pace = Callable[[int], float]
Told = Callable[[int], None]

# Rounds between two looks at the pace.
STRIDE = 20
# Plans of so many visits are given to the exact solver whole.
SMALL = 100


def go_on(done: int, total: int) -> bool:
    """A progress callback that never stops the search."""
    del done, total
    return True


def lost_cents(plan_input: PlanInput, plan: Plan) -> int:
    """What the search makes small: value of visits left out, cost, and what moved visits cost."""
    facts = plan_arrays(plan_input)
    everything = sum(visit.value_cents for visit in plan_input.visits)
    return everything - plan.value_cents + plan.cost_cents + len(plan.moved) * facts.penalty // MONEY_PER_CENT


def schedule(
    plan_input: PlanInput,
    iterations: int = 0,
    progress: Progress = go_on,
    seed: int = 0,
    *,
    pace: Pace | None = None,
    exact_work: float = 0.0,
    told: Told | None = None,
) -> Plan:
    """Plan a season: a greedy start, then `iterations` rounds of improvement.

    `progress(done, total)` is called before each round and ends the search by returning False. `pace(done)` gives the
    share of the search that is over (by default done / iterations), for callers that go by a clock; 1 ends it.
    `exact_work` is the work of the exact solver after that, in its own deterministic seconds (0: none). `told` hears
    each better cost in cents.
    """
    search = Search(Board(plan_arrays(plan_input)), seed)
    search.begin()
    run = _Run(search, iterations, progress, pace or (lambda done: done / max(1, iterations)), told)
    run.tell()
    stopped = run.rounds()
    search.restore()
    search.fill()
    run.tell()
    if exact_work > 0 and not stopped:
        stopped = run.exactly(exact_work, seed)
    search.settle()
    run.tell()
    return _plan(search.board, run.done, stopped)


class _Run:
    """One search with those who listen to it."""

    def __init__(self, search: Search, total: int, progress: Progress, pace: Pace, told: Told | None) -> None:
        self.search, self.total, self.progress, self.pace, self.told = search, total, progress, pace, told
        self.done = 0
        facts = search.facts
        self.everything = sum(facts.value) + facts.penalty * len(facts.previous)
        more = [value - worth for value, worth in zip(facts.value, facts.worth, strict=True)]
        self.lifted = [(visit, amount) for visit, amount in enumerate(more) if amount]

    def tell(self) -> None:
        """Tell the best cost so far, with owed visits at their own worth and not what the search makes of it."""
        if self.told:
            out = sum(amount for visit, amount in self.lifted if self.search.best[visit][0] < 0)
            self.told(to_cents(Fraction(self.everything - self.search.best_score - out, MONEY_PER_CENT * 100)))

    def rounds(self) -> bool:
        """Search until the pace says that it is over; whether it was stopped before."""
        heat = self.search.heat(0)
        while self.done < self.total:
            if not self.progress(self.done, self.total):
                return True
            if self.done % STRIDE == 0:
                share = self.pace(self.done)
                if share >= 1:
                    break
                heat = self.search.heat(share)
            if self.search.round(heat):
                self.tell()
            self.done += 1
        self.progress(self.total, self.total)
        return False

    def exactly(self, work: float, seed: int) -> bool:
        """Let the exact solver improve the plan: all of a small one, else part after part; whether it was stopped."""
        from estimating.plan_repair import improve_exactly

        small = self.search.facts.visits <= SMALL

        def going() -> bool:
            return self.progress(self.total, self.total)

        return improve_exactly(self.search, work, seed, whole=small, told=self.tell, going=going)


def _plan(board: Board, rounds: int, stopped: bool) -> Plan:
    facts, given = board.facts, board.facts.given
    planned = [visit for visit in range(facts.visits) if board.crew[visit] != NOWHERE]
    entries = [
        Assignment(facts.need(visit).id, given.crews[board.crew[visit]].id, given.days[board.day[visit]])
        for visit in planned
    ]
    reasons = Reasons(board)
    left = sorted(set(range(facts.visits)) - set(planned), key=lambda visit: facts.source[visit])
    return Plan(
        tuple(sorted(entries, key=lambda entry: (entry.day, entry.crew, entry.visit))),
        tuple(reasons.of(visit) for visit in left),
        to_cents(Fraction(max(board.cost, 0), MONEY_PER_CENT * 100)),
        sum(facts.need(visit).value_cents for visit in planned),
        rounds,
        stopped,
        _fund_uses(board, planned),
        tuple(sorted(_moved(board))),
    )


def _moved(board: Board) -> list[str]:
    """Visits that the previous plan had elsewhere."""
    facts = board.facts
    return [
        facts.need(visit).id
        for visit, place in facts.previous.items()
        if (board.crew[visit], board.day[visit]) != place
    ]


def _fund_uses(board: Board, planned: list[int]) -> tuple[FundUse, ...]:
    """Each budget with its use and the chance of passing it."""
    facts = board.facts
    uses = []
    if facts.budget is not None:
        uses.append(_fund_use(board, "", planned, facts.budget, facts.budget - board.money))
    for number, fund in enumerate(facts.given.fund_budgets_cents):
        paid = [visit for visit in planned if facts.fund[visit] == number]
        budget = facts.fund_budgets[number]
        uses.append(_fund_use(board, fund, paid, budget, budget - board.fund_money[number]))
    return tuple(uses)


def _fund_use(board: Board, fund: str, paid: list[int], budget: int, charge: int) -> FundUse:
    """The work's cost has the visits' spreads; the drive is certain: what was charged beyond the work."""
    facts = board.facts
    options = [facts.both(visit, board.crew[visit])[0] for visit in paid]
    work = np.array([option.cost for option in options], np.float64)
    road = charge - sum(option.charge for option in options)
    needs = [facts.need(visit) for visit in paid]
    groups = {name: number for number, name in enumerate(sorted({need.shares_error_with for need in needs}))}
    fit = season_fit(
        work,
        np.array([need.own_log_sd for need in needs], np.float64),
        np.array([need.shared_log_sd for need in needs], np.float64),
        np.array([groups[need.shares_error_with] for need in needs], np.int64),
    )
    cents = MONEY_PER_CENT * 100
    level = fit.quantile(facts.given.budget_level) if fit.sigma else fit.mean
    return FundUse(
        fund,
        budget // MONEY_PER_CENT,
        to_cents(Fraction(int(work.sum()) + road, cents)),
        to_cents(Fraction(int(level) + road, cents)),
        fit.chance_above(float(budget - road) + 0.5 * MONEY_PER_CENT),
    )
