"""Large-neighbourhood search: take up some visits that have to do with each other, put them and others back, keep what
is better, and early on also what is a little worse (annealing).

One round costs a few dozen placings. The random numbers come in blocks from numpy's generator, so that the same seed
and the same number of rounds give the same plan.
"""

import math
from collections.abc import Callable, Collection, Iterator

import numpy as np

from estimating.plan_board import NO_LIMIT, Board, Place

Round = Callable[[int], bool]
BLOCK = 1 << 14
# Starting and final temperature, in shares of the middle value of a visit.
HOT, COLD = 0.15, 0.002
# Chance that a crew is overlooked when a visit is put back.
BLINK = 0.02


def chances(seed: int) -> Callable[[], float]:
    """Random numbers from 0 to 1, one a call."""
    random = np.random.default_rng(seed)

    def stream() -> Iterator[float]:
        while True:
            yield from random.random(BLOCK).tolist()

    return stream().__next__


class Search:
    """The search over one board."""

    def __init__(self, board: Board, seed: int) -> None:
        self.board, self.facts = board, board.facts
        self.chance = chances(seed)
        facts = board.facts
        self.by_day = [0] * facts.days
        self.by_crew = [0] * facts.crews
        self.by_site = [0] * facts.sites
        for visit in range(facts.visits):
            bit, days = 1 << visit, facts.window[visit]
            while days:
                low = days & -days
                days ^= low
                self.by_day[low.bit_length() - 1] |= bit
            for crew in facts.by_crew[visit]:
                self.by_crew[crew] |= bit
            self.by_site[facts.site[visit]] |= bit
        values = sorted(facts.worth) or [0]
        self.scale = float(values[len(values) // 2])
        self.best_score, self.best = board.score, board.places()

    def below(self, count: int) -> int:
        """A random number from 0 to count - 1."""
        return int(self.chance() * count)

    # What a round takes up

    def some_planned(self) -> int:
        """A random planned visit that may move, or -1."""
        board, count = self.board, self.facts.visits
        for _ in range(20 if count else 0):
            visit = self.below(count)
            if board.crew[visit] >= 0 and visit not in board.standing:
                return visit
        return -1

    def take_crew_days(self, anchor: int) -> list[int]:
        """All visits of a few crew-days: the anchor's and others near it in time."""
        board, days = self.board, self.board.days
        crew, day = board.crew[anchor], board.day[anchor]
        found = list(board.at[crew * days + day])
        for _ in range(1 + self.below(4)):
            other = self.below(self.facts.crews)
            near = min(days - 1, max(0, day + self.below(7) - 3))
            found += board.at[other * days + near]
        return found

    def take_site(self, anchor: int) -> list[int]:
        """Visits at the anchor's site around its day, and what shares a crew-day with one of them."""
        board, day = self.board, self.board.day[anchor]
        bits = self.by_site[self.facts.site[anchor]] & ~board.waiting
        found = []
        while bits:
            low = bits & -bits
            bits ^= low
            visit = low.bit_length() - 1
            if abs(board.day[visit] - day) <= 12:
                found.append(visit)
        if len(found) > 12:
            start = self.below(len(found) - 11)
            found = found[start : start + 12]
        return found + self.board.at[board.crew[anchor] * board.days + day]

    def take_day(self, anchor: int) -> list[int]:
        """The anchor's day with several crews."""
        board, day = self.board, self.board.day[anchor]
        found = list(board.at[board.crew[anchor] * board.days + day])
        for _ in range(2 + self.below(2)):
            found += board.at[self.below(self.facts.crews) * board.days + day]
        return found

    def take_any(self, anchor: int) -> list[int]:
        """Visits at random."""
        found = [anchor]
        for _ in range(3 + self.below(8)):
            found.append(self.some_planned())
        return [visit for visit in found if visit >= 0]

    def take_poor(self, anchor: int) -> list[int]:
        """Of some random visits those worth least for the hours they take, and the anchor's crew-day."""
        some = [self.some_planned() for _ in range(16)]
        poor = sorted((visit for visit in some if visit >= 0), reverse=True)[:6]
        return poor + self.board.at[self.board.crew[anchor] * self.board.days + self.board.day[anchor]]

    def taken(self, anchor: int) -> list[int]:
        """Visits to take up, each once; never one that stands."""
        pick = self.chance()
        if pick < 0.4:
            found = self.take_crew_days(anchor)
        elif pick < 0.65:
            found = self.take_site(anchor)
        elif pick < 0.8:
            found = self.take_day(anchor)
        elif pick < 0.9:
            found = self.take_poor(anchor)
        else:
            found = self.take_any(anchor)
        return [visit for visit in dict.fromkeys(found) if visit not in self.board.standing]

    # What it puts back

    def retried(self, freed: set[int], removed: set[int]) -> list[int]:
        """Waiting visits worth trying where room was made: the dearest that may be made there, some passed over."""
        board, found = self.board, []
        for crew_day in freed:
            crew, day = divmod(crew_day, board.days)
            bits = board.waiting & self.by_day[day] & self.by_crew[crew]
            wanted = 3
            while bits and wanted:
                low = bits & -bits
                bits ^= low
                visit = low.bit_length() - 1
                if visit in removed:
                    continue
                if self.chance() < 0.3:
                    found.append(visit)
                    wanted -= 1
        if not freed or self.chance() < 0.1:
            some = [self.below(self.facts.visits) for _ in range(min(12, self.facts.visits))]
            found += [visit for visit in some if board.waiting >> visit & 1 and visit not in removed]
        return list(dict.fromkeys(found))

    def ordered(self, pool: list[int]) -> list[int]:
        """The visits in the order in which they are put back."""
        pick, chance, facts = self.chance(), self.chance, self.facts
        if pick < 0.35:
            spread = 0.5 * facts.visits * chance()
            return sorted(pool, key=lambda visit: visit + spread * chance())
        if pick < 0.65:
            return sorted(pool, key=lambda visit: -facts.hours[visit] * (1 + 0.3 * chance()))
        if pick < 0.8:
            return sorted(pool, key=lambda visit: facts.window[visit].bit_count() * (1 + 0.3 * chance()))
        return sorted(pool, key=lambda _: chance())

    def put_back(self, pool: list[int], blink: float) -> list[int]:
        """Put visits where they cost least; a visit brings those that come after it in its chains."""
        board, placed = self.board, []
        for visit in pool:
            if board.crew[visit] >= 0:
                continue
            place = self.place(visit, blink)
            if place is not None:
                board.put(visit, *place)
                if board.fund_money and board.overspent:
                    board.take_up(visit)
                    continue
                placed.append(visit)
                pool.extend(link.visit for link in self.facts.after[visit] if board.crew[link.visit] < 0)
        return placed

    def place(self, visit: int, blink: float) -> Place | None:
        """Where a visit goes: where the previous plan had it, if moves cost something."""
        board, facts = self.board, self.facts
        before = facts.previous.get(visit) if facts.penalty else None
        if before is not None and board.may(visit, *before) and self.chance() >= blink:
            return before
        limit = facts.value[visit]
        if facts.after[visit]:
            if blink and self.chance() < 0.5:
                limit += self.worth_after(visit)
            days = board.days_open(visit) & facts.leads[visit]
            if place := board.best_place(visit, limit, self.chance, blink, days):
                return place
        return board.best_place(visit, limit, self.chance, blink)

    def worth_after(self, visit: int) -> int:
        """Value of what may come after a visit in its chains: it may be worth making for their sake alone."""
        later = [link.visit for link in self.facts.after[visit] if self.board.crew[link.visit] < 0]
        return sum(self.facts.value[each] + self.worth_after(each) for each in later)

    def begin(self) -> None:
        """The start: what the previous plan had where it still fits, owed visits first; then all by their worth."""
        facts = self.facts
        owed = [visit for visit in range(facts.visits) if facts.need(visit).owed]
        self.keep({visit for visit in owed if visit in facts.previous})
        self.put_back(owed, 0.0)
        self.keep(facts.previous.keys())
        self.fill()

    def keep(self, visits: Collection[int]) -> None:
        """Put visits where the previous plan had them, as far as the rules still allow."""
        board, previous = self.board, self.facts.previous
        for visit in sorted(visits, key=lambda visit: (previous[visit][1], len(self.facts.before[visit]), visit)):
            if board.crew[visit] < 0 and board.may(visit, *previous[visit]):
                board.put(visit, *previous[visit])
                if board.overspent:
                    board.take_up(visit)

    def fill(self) -> None:
        """Put in what still fits and is worth it, dearest first, until nothing does: a visit may fit only once others
        have paid the drive."""
        board = self.board
        while self.put_back([visit for visit in range(self.facts.visits) if board.waiting >> visit & 1], 0.0):
            pass
        self.best_score, self.best = board.score, board.places()

    def settle(self) -> None:
        """Move single visits to cheaper places and fill in what then fits, until no such step makes the plan better."""
        board, score = self.board, None
        while score != board.score:
            score = board.score
            for visit in range(self.facts.visits):
                if board.crew[visit] >= 0 and visit not in board.standing:
                    self.move(visit)
            self.fill()

    def move(self, visit: int) -> None:
        """Put a visit where it costs least, if that is better."""
        board, score, was = self.board, self.board.score, (self.board.crew[visit], self.board.day[visit])
        board.take_up(visit)
        place = board.best_place(visit, NO_LIMIT, self.chance, 0.0, board.days_between(visit))
        board.put(visit, *(place or was))
        if board.score <= score or board.overspent:
            board.take_up(visit)
            board.put(visit, *was)

    def restore(self) -> None:
        """Put the board back to the best plan so far."""
        board = self.board
        moved = [
            visit for visit in range(self.facts.visits) if (board.crew[visit], board.day[visit]) != self.best[visit]
        ]
        for visit in moved:
            if board.crew[visit] >= 0:
                board.take_up(visit)
        for visit in moved:
            if self.best[visit][0] >= 0:
                board.put(visit, *self.best[visit])

    # A round

    def round(self, heat: float) -> bool:
        """Take up, put back, keep or undo; whether the plan became the best so far."""
        board = self.board
        anchor = self.some_planned()
        score = board.score
        removed = self.remove(self.taken(anchor)) if anchor >= 0 else []
        freed = {crew * board.days + day for _, crew, day in removed}
        gone = {visit for visit, _, _ in removed}
        pool = self.ordered([*gone, *self.retried(freed, gone)])
        placed = self.put_back(pool, BLINK)
        worse = score - board.score
        if (worse > 0 and worse > -heat * math.log(self.chance() + 1e-300)) or board.overspent:
            self.undo(removed, placed)
            return False
        if board.score > self.best_score:
            self.best_score, self.best = board.score, board.places()
            return True
        return False

    def remove(self, visits: list[int]) -> list[tuple[int, int, int]]:
        """Take up visits and all that come after them in their chains; where they were."""
        board, removed = self.board, []
        for visit in visits:
            visits.extend(link.visit for link in self.facts.after[visit])
            if board.crew[visit] >= 0 and visit not in board.standing:
                removed.append((visit, board.crew[visit], board.day[visit]))
                board.take_up(visit)
        return removed

    def undo(self, removed: list[tuple[int, int, int]], placed: list[int]) -> None:
        """Back to where the round began."""
        for visit in reversed(placed):
            self.board.take_up(visit)
        for visit, crew, day in reversed(removed):
            self.board.put(visit, crew, day)

    def heat(self, share: float) -> float:
        """Temperature when a share of the search is done; where moves cost something, it starts cold."""
        hot = COLD if self.facts.penalty else HOT
        return self.scale * hot * float((COLD / hot) ** share)
