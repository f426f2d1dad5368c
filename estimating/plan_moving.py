"""What breaks when visits of a plan go to another crew or day together, all else staying where it is."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from estimating.errors import UnknownCode
from estimating.plan import Assignment, CrewSupply, PlanInput, VisitNeed
from estimating.plan_arrays import MONEY_PER_CENT, NOWHERE, SLACK_TICKS, TICKS_PER_HOUR, Link, plan_arrays, ticks
from estimating.plan_board import Board
from estimating.plan_words import count_words, day_words, lag_words, listed, money_words
from estimating.pricing import to_cents


@dataclass(frozen=True)
class MoveBreak:
    """A rule that a move breaks: `license`, `window`, `closed`, `day off`, `hours`, `chain`, `equipment`, `money`, or
    `nobody` (the crew has no people this season)."""

    kind: str
    words: str


def breaks_of_move(
    plan_input: PlanInput, assignments: Iterable[Assignment], visits: Sequence[str], crew: str, day: date
) -> tuple[MoveBreak, ...]:
    """Everything that visits break, put together with a crew on a day, beside the rest of the plan; nothing: they fit.

    The visits may stand in the plan or not. What all of them break alike is said once, with its whole amount. A budget
    breaks where the move takes it over, or further over. `UnknownCode` names a visit or an assignment that is not of
    this season.
    """
    board = Board.of(plan_arrays(plan_input), assignments)
    for visit in visits:
        if visit not in board.facts.number:
            raise UnknownCode(f"no visit {visit!r} in this season", "visits")
    move = _Move(board, visits, day)
    if not plan_input.first_day <= day <= plan_input.last_day:
        return (MoveBreak("window", f"{move.on} is outside the season."),)
    found = [*move.place(), *move.chains()]
    if crew in board.facts.crew_number:
        found += move.with_crew(board.facts.crew_number[crew])
    else:
        found.append(MoveBreak("nobody", f"Crew {crew} has no people this season."))
    return tuple(dict.fromkeys(found))


class _Move:
    """Visits taken up from a board, to be put on another day; money as it was before."""

    def __init__(self, board: Board, visits: Sequence[str], day: date) -> None:
        self.board, self.facts, self.given = board, board.facts, board.facts.given
        self.money = [board.money, *board.fund_money]
        self.visits = [self.facts.number[visit] for visit in visits]
        self.date, self.on = day, day_words(self.given, day)
        self.day = (day - self.given.first_day).days
        for visit in self.visits:
            if board.crew[visit] != NOWHERE:
                board.take_up(visit)

    @property
    def needs(self) -> list[VisitNeed]:
        """The visits as they were given."""
        return [self.facts.need(visit) for visit in self.visits]

    def place(self) -> Iterator[MoveBreak]:
        """The visits' windows and their sites' closed days."""
        for need in self.needs:
            if not need.first_day <= self.date <= need.last_day:
                first, last = (day_words(self.given, day) for day in (need.first_day, need.last_day))
                yield MoveBreak("window", f"{self.on} is outside its window, {first} to {last}.")
            if self.date in self.given.closed_days.get(need.site, ()):
                yield MoveBreak("closed", f"Site {need.site} is closed on {self.on}.")

    def chains(self) -> Iterator[MoveBreak]:
        """The lags to the visits before and after them."""
        for visit in self.visits:
            for link in self.facts.before[visit]:
                first, name = self._day_of(link.visit), self.facts.need(link.visit).id
                if first < 0:
                    yield MoveBreak("chain", f"It comes after visit {name}, which is not planned.")
                else:
                    yield from self._lag(link, self.day - first, f"It must come {lag_words(link)} visit {name}")
            for link in self.facts.after[visit]:
                second, name = self._day_of(link.visit), self.facts.need(link.visit).id
                if second >= 0:
                    yield from self._lag(link, second - self.day, f"Visit {name} must come {lag_words(link)} it")

    def _day_of(self, visit: int) -> int:
        return self.day if visit in self.visits else self.board.day[visit]

    def _lag(self, link: Link, lag: int, rule: str) -> Iterator[MoveBreak]:
        if not link.least <= lag <= link.most:
            other = day_words(self.given, self.given.days[self._day_of(link.visit)])
            found = f"that would be {count_words(lag, 'day')}" if lag >= 0 else "that would be the wrong way around"
            yield MoveBreak("chain", f"{rule}, which is on {other}: {found}.")

    def with_crew(self, crew: int) -> Iterator[MoveBreak]:
        """What the crew, its equipment and the budgets cannot bear."""
        supply = self.given.crews[crew]
        if self.date in supply.days_off or self.date in self.given.days_off:
            yield MoveBreak("day off", f"Crew {supply.id} does not work on {self.on}.")
        needed = frozenset[str]().union(*(need.skills for need in self.needs))
        if missing := needed - supply.skills_on(self.date):
            yield MoveBreak("license", f"Crew {supply.id} lacks {listed(sorted(missing))} on {self.on}.")
        for visit in self.visits:
            self.board.put(visit, crew, self.day)
        yield from self._hours(crew, supply)
        yield from self._equipment(crew)
        yield from self._money()

    def _hours(self, crew: int, supply: CrewSupply) -> Iterator[MoveBreak]:
        """Hours of the crew's day with the drive; a day off holds as much as it would at work."""
        works = self.facts.capacity[crew][self.day] - self.board.left[crew * self.facts.days + self.day]
        most = ticks(supply.hours_at_work(self.date))
        if works > most + SLACK_TICKS:
            hours, over = works / TICKS_PER_HOUR, (works - most) / TICKS_PER_HOUR
            words = f"Crew {supply.id} would work {hours:.1f} person-hours on {self.on} with the drive"
            yield MoveBreak("hours", f"{words}, {over:.1f} more than its day holds.")

    def _equipment(self, crew: int) -> Iterator[MoveBreak]:
        kinds = list(self.given.equipment)
        for kind, units in (short for visit in self.visits for short in self.board.short(visit, crew, self.day)):
            words = f"{units} of {kinds[kind]} would be out on {self.on}, but there are only {self.facts.units[kind]}"
            yield MoveBreak("equipment", f"{words}.")

    def _money(self) -> Iterator[MoveBreak]:
        """Budgets that are passed now, and by more than before."""
        names = ["the season's budget", *(f"the budget of fund {fund}" for fund in self.given.fund_budgets_cents)]
        for name, before, now in zip(names, self.money, [self.board.money, *self.board.fund_money], strict=True):
            if now < min(0, before):
                words = f"The plan would take {_money_words(-now)} more than {name}{self._level()}"
                already = f"; it takes {_money_words(-before)} more already" if before < 0 else ""
                yield MoveBreak("money", f"{words}{already}.")

    def _level(self) -> str:
        level = self.given.budget_level
        return f" at the {100 * level:g}% point of its range of cost" if level != 0.5 else ""


def _money_words(money: int) -> str:
    return money_words(to_cents(Fraction(money, MONEY_PER_CENT * 100)))
