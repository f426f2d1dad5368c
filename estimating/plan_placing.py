"""Why each visit of a plan is with its crew on its day.

Each sentence is worked out on the plan as it stands, with the visit taken up and all others where they are: the days
that were possible, what barred the earlier ones, what other crews would have cost. Costs are those of the whole plan,
so a drive that is shared counts once. Where another place would cost less, the sentence says so.
"""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import NamedTuple

from estimating.plan import Assignment, Plan, PlanInput
from estimating.plan_arrays import MONEY_PER_CENT, NOWHERE, Link, Option, plan_arrays
from estimating.plan_board import Board, Place
from estimating.plan_words import count_words, day_words, lag_words, listed, money_words
from estimating.pricing import to_cents

MOST_SENTENCES = 5
# Crews that a sentence names one by one.
MOST_NAMED = 3


class Days(NamedTuple):
    """A crew's possible days for a visit, as bits: with room at the site or with the drive there, and the others by
    what bars them first."""

    joined: int
    driven: int
    out: int
    full: int
    unable: int
    off: int


class Offer(NamedTuple):
    """A place with room, and what the plan would cost more with the visit there; cheapest and earliest first."""

    cost: int
    day: int
    crew: int


# By bar: words for days without room, and for a crew or for crews on one day.
BARS = {
    "out": ("the equipment was out with others", "found the equipment out", "found the equipment out"),
    "full": ("the able crews at work were full", "was full", "were full"),
    "unable": ("no crew at work had the skills", "lacked the skills", "lacked the skills"),
    "off": ("no able crew worked", "did not work", "did not work"),
}


def why_placed(plan_input: PlanInput, assignments: Plan | Iterable[Assignment]) -> dict[str, tuple[str, ...]]:
    """For each visit of a plan, by its id: two to five sentences on why this crew and why this day.

    Crews, sites and visits are named by their ids. `UnknownCode` names an assignment that is not of this season.
    """
    entries = assignments.assignments if isinstance(assignments, Plan) else tuple(assignments)
    board = Board.of(plan_arrays(plan_input), entries)
    placed = [visit for visit in range(board.facts.visits) if board.crew[visit] != NOWHERE]
    return {board.facts.need(visit).id: _sentences(board, visit) for visit in placed}


def _sentences(board: Board, visit: int) -> tuple[str, ...]:
    """Sentences about one visit; the board stays as it is."""
    place = board.crew[visit], board.day[visit]
    board.take_up(visit)
    asked = _Visit(board, visit, place)
    found = [words for words in (asked.of_fixed() if visit in board.standing else asked.of_planned()) if words]
    board.put(visit, *place)
    return tuple(found[:MOST_SENTENCES])


def _each(days: int) -> Iterator[int]:
    while days:
        bit = days & -days
        days ^= bit
        yield bit.bit_length() - 1


def _money(amount: int) -> str:
    return money_words(to_cents(Fraction(amount, MONEY_PER_CENT * 100)))


class _Visit:
    """A visit taken up from the plan, and the place that it had."""

    def __init__(self, board: Board, visit: int, place: Place) -> None:
        self.board, self.facts, self.given = board, board.facts, board.facts.given
        self.visit, self.need = visit, self.facts.need(visit)
        self.crew, self.day = place
        self.name, self.on = self._name(self.crew), self._on(self.day)
        self.possible = board.days_between(visit)
        self.options = {crew: self._days(crew) for crew in self.facts.by_crew[visit]}
        join, trip = self.facts.both(visit, self.crew)
        self.is_shared = bool(board.there[join.crew_site] >> self.day & 1)
        self.cost, self.saved = (join if self.is_shared else trip).cost, trip.cost - join.cost

    def of_planned(self) -> Iterator[str]:
        """Sentences about a visit that the plan placed."""
        yield self.days()
        yield self.earlier()
        yield self.with_crew()
        yield self.former()
        yield self.shared()
        yield self.deadline()

    def of_fixed(self) -> Iterator[str]:
        """Sentences about a visit that was fixed before."""
        yield f"It is fixed with crew {self.name} on {self.on}; the plan leaves it there."
        yield self.days()
        yield self.shared()
        yield self.deadline()

    # Names

    def _name(self, crew: int) -> str:
        return self.given.crews[crew].id

    def _on(self, day: int) -> str:
        return day_words(self.given, self.given.days[day])

    def _other(self, visit: int) -> str:
        return f"visit {self.facts.need(visit).id}"

    # Which days

    def days(self) -> str:
        """The days that are possible, and what bounds them."""
        bounds, count = "; ".join(self._bounds()), self.possible.bit_count()
        if count == (self.need.last_day - self.need.first_day).days + 1 > 1:
            return f"{bounds}, {count_words(count, 'day')}."
        if not count:
            return f"{bounds}. That leaves no day."
        first, last = self._on(next(_each(self.possible))), self._on(self.possible.bit_length() - 1)
        span = f"only {first}" if count == 1 else f"{count_words(count, 'day')}, {first} to {last}"
        return f"{bounds}. That leaves {span}."

    def _bounds(self) -> Iterator[str]:
        need, given = self.need, self.given
        yield f"Its window is {day_words(given, need.first_day)} to {day_words(given, need.last_day)}"
        first, last = max(need.first_day, given.first_day), min(need.last_day, given.last_day)
        closed = sum(first <= day <= last for day in given.closed_days.get(need.site, ()))
        if closed:
            yield f"site {need.site} is closed on {count_words(closed, 'day')} of it"
        for link in self.facts.before[self.visit]:
            yield f"it comes {lag_words(link)} {self._other(link.visit)}{self._when(link)}"
        for link in self.facts.after[self.visit]:
            if self.board.day[link.visit] != NOWHERE:
                yield f"{self._other(link.visit)} comes {lag_words(link)} it{self._when(link)}"

    def _when(self, link: Link) -> str:
        day = self.board.day[link.visit]
        return ", which is not planned" if day == NOWHERE else f" ({self._on(day)})"

    def _days(self, crew: int) -> Days:
        """A crew's possible days by room and bar."""
        join, trip = self.facts.by_crew[self.visit][crew]
        works, able = self.facts.works[crew], self.facts.days_able(self.visit, crew)
        at_work = self.possible & works & able
        there = self.board.there[join.crew_site]
        joined, driven = self._fits(join, at_work & there), self._fits(trip, at_work & ~there)
        out = 0
        if self.need.equipment:
            out = sum(1 << day for day in _each(joined | driven) if self.board.lacks(self.visit, crew, day))
        return Days(
            joined=joined & ~out,
            driven=driven & ~out,
            out=out,
            full=at_work & ~joined & ~driven,
            unable=self.possible & works & ~able,
            off=self.possible & ~works,
        )

    def _fits(self, option: Option, days: int) -> int:
        """Days on which a crew has the hours; only those of the last step need a closer look."""
        roomy = self.board.room[option.crew]
        fit = days & roomy[option.level]
        sure = fit & roomy[option.level + 1] if option.level + 1 < len(roomy) else 0
        start = option.crew * self.facts.days
        return sure | sum(1 << day for day in _each(fit & ~sure) if option.need <= self.board.left[start + day])

    # What other places would have been like

    def _offer(self, crews: Iterable[int], days: int) -> Offer | None:
        """The cheapest place with room."""
        offers = []
        for crew in crews:
            for option, room in zip(self.facts.by_crew[self.visit][crew], self.options[crew][:2], strict=True):
                if fit := room & days:
                    offers.append(Offer(option.cost, next(_each(fit)), crew))
        return min(offers, default=None)

    def _beside(self, offer: Offer) -> str:
        """What an offer would cost beside the place that was taken, and what speaks against it."""
        more = offer.cost - self.cost
        if more > 0:
            return f"would cost {_money(more)} more"
        words = f"would cost {_money(-more)} less" if more else "would cost the same"
        if not self._bears(offer):
            return f"{words}, but the money does not reach for it"
        if self.facts.previous.get(self.visit) == (self.crew, self.day):
            return f"{words}, but as little as possible is moved"
        left, days = self.board.left, self.facts.days
        if not more and left[self.crew * days + self.day] < left[offer.crew * days + offer.day]:
            return f"{words}, but has more room to spare, which is kept free"
        return words

    def _bears(self, offer: Offer) -> bool:
        """Whether the budgets bear the visit there."""
        self.board.put(self.visit, offer.crew, offer.day)
        bears = self.board.money >= 0 and not self.board.overspent
        self.board.take_up(self.visit)
        return bears

    def earlier(self) -> str:
        """Why no day before."""
        if not self.possible >> self.day & 1:
            return f"{self.on} is not one of these days."
        days = self.possible & ((1 << self.day) - 1)
        if not days:
            return f"{self.on} is the first possible day."
        if not self.options:
            return ""
        offer = self._offer(self.options, days)
        if offer is None:
            return f"No able crew had room before {self.on}: {self._bars(days)}."
        return f"Before {self.on} the cheapest place, crew {self._name(offer.crew)} on {self._on(offer.day)}, " + (
            f"{self._beside(offer)}."
        )

    def _bars(self, days: int) -> str:
        """On how many days what kept the visit out; a day counts for the bar that was nearest to giving way."""
        found = []
        for bar, (words, _, _) in BARS.items():
            here = 0
            for option in self.options.values():
                here |= getattr(option, bar) & days
            days &= ~here
            if here:
                found.append(f"on {count_words(here.bit_count(), 'day')} {words}")
        return listed(found)

    def with_crew(self) -> str:
        """Why this crew."""
        if self.crew not in self.options:
            return f"Crew {self.name} lacks the skills."
        if not self.possible >> self.day & 1:
            return ""
        others = [crew for crew in self.options if crew != self.crew]
        if not others:
            skills = listed(sorted(self.need.skills)) if self.need.skills else ""
            return f"Only crew {self.name} has {skills}." if skills else f"There is no crew but {self.name}."
        offer = self._offer(others, 1 << self.day)
        if offer is None:
            return f"On {self.on} no other able crew had room: {self._crews(others)}."
        if offer.cost > self.cost:
            others_cost = f"crew {self._name(offer.crew)} {self._beside(offer)}"
            return f"Crew {self.name} is the cheapest with room on {self.on}: {others_cost}."
        return f"On {self.on} crew {self._name(offer.crew)} {self._beside(offer)}."

    def _crews(self, crews: list[int]) -> str:
        """What kept each of some crews from it that day."""
        found = []
        for bar, (_, one, more) in BARS.items():
            names = [f"crew {self._name(crew)}" for crew in crews if getattr(self.options[crew], bar) >> self.day & 1]
            if names:
                who = listed(names) if len(names) <= MOST_NAMED else count_words(len(names), "crew")
                found.append(f"{who} {one if len(names) == 1 else more}")
        return listed(found)

    def former(self) -> str:
        """Where the plan before had it."""
        if self.visit not in self.facts.previous:
            is_new = self.given.previous and all(entry.visit != self.need.id for entry in self.given.previous)
            return "It is new: the plan before did not have it." if is_new else ""
        crew, day = self.facts.previous[self.visit]
        if (crew, day) == (self.crew, self.day):
            return "The plan before had it here too."
        place = f"The plan before had it with crew {self._name(crew)} on {self._on(day)}"
        if not self.possible >> day & 1:
            return f"{place}, which is not possible now."
        if crew not in self.options:
            return f"{place}, who lacks the skills now."
        offer = self._offer([crew], 1 << day)
        if offer is None:
            words = next(one for bar, (_, one, _) in BARS.items() if getattr(self.options[crew], bar) >> day & 1)
            return f"{place}, who {words}."
        return f"{place}, which {self._beside(offer)}."

    # What speaks for this place

    def shared(self) -> str:
        """The drive that it shares."""
        if not self.is_shared or not self.saved:
            return ""
        here = self.board.at[self.crew * self.facts.days + self.day]
        count = sum(self.facts.site[visit] == self.facts.site[self.visit] for visit in here)
        visits = count_words(count, "other visit")
        words = f"Crew {self.name} is at site {self.need.site} that day anyway, for {visits}"
        return f"{words}: sharing the drive saves {_money(self.saved)}."

    def deadline(self) -> str:
        """How near the end of its window is."""
        day, owed = self.given.days[self.day], "It is owed follow-up. " if self.need.owed else ""
        left = (self.need.last_day - day).days
        end = day_words(self.given, self.need.last_day)
        if left < 0:
            return f"{owed}Its window closed on {end}, {count_words(-left, 'day')} before."
        if left == 0:
            return f"{owed}It is the last day of its window."
        return f"{owed}Its window closes on {end}, {count_words(left, 'day')} later."
