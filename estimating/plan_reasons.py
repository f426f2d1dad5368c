"""Why a visit is left out of a finished plan, and the cheapest single change that would let it in.

The constraint is the first that alone keeps the visit out. Where no change is enough by itself because the money is
spent too, the change says how much more it takes. Changes are found by trying them on the plan as it stands:
the visit with another crew's people licensed, on a day more, with more money, on a day outside its window or lag, with
one more unit of equipment. What a change costs is what the visit then adds to the plan's cost; what a license or a
sprayer costs is not the planner's to know, and is not in it.
"""

from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from estimating.plan import LeftOut
from estimating.plan_arrays import MONEY_PER_CENT, NOWHERE, TICKS_PER_HOUR, Both
from estimating.plan_board import NO_LIMIT, Board
from estimating.plan_words import day_words
from estimating.pricing import to_cents

Reason = tuple[str, str]


class Found(NamedTuple):
    """The cheapest way to make a visit under some relaxed rules."""

    cost: int
    charge: int
    crew: int
    day: int


class Change(NamedTuple):
    """A change that lets a visit in; the cheapest comes first in order."""

    cost: int
    kind: str
    text: str
    charge: int


def _cents(money: int) -> int:
    return to_cents(Fraction(money, MONEY_PER_CENT * 100))


class Reasons:
    """Asks a finished plan about visits that are left out."""

    def __init__(self, board: Board) -> None:
        self.board, self.facts = board, board.facts
        self.usual = [hours for crew in self.facts.capacity for hours in [max(crew)] * self.facts.days]
        self.all_days = (1 << self.facts.days) - 1
        self.open_days = {
            site: self.all_days & ~sum(1 << (day - self.facts.given.first_day).days for day in self._closed(site))
            for site in self.facts.given.drive_minutes
        }

    def _closed(self, site: str) -> list[date]:
        given = self.facts.given
        return [day for day in given.closed_days.get(site, ()) if given.first_day <= day <= given.last_day]

    def of(self, visit: int) -> LeftOut:
        """The constraint and the cheapest change for a visit that is left out."""
        need, (constraint, because) = self.facts.need(visit), self.constraint(visit)
        best = self.best_change(visit)
        if best is None:
            words = "No single change lets it in." if constraint != "window" else "Its window must lie in the season."
            return LeftOut(need.id, constraint, because, "", words)
        return LeftOut(need.id, constraint, because, best.kind, best.text, _cents(best.cost))

    def best_change(self, visit: int) -> Change | None:
        """The cheapest change; where none is enough by itself, the cheapest that is with more money."""
        waiting = [link.visit for link in self.facts.before[visit] if self.board.crew[link.visit] < 0]
        if waiting:
            return None if self._by_itself(visit) else self._first_visit(waiting[0])
        money = self.money(visit)
        single = min(self.changes(visit, money), default=None)
        both = None if single else min(self.changes(visit, NO_LIMIT), default=None)
        if both is None:
            return single
        return both._replace(text=f"{both.text} It also takes {self._short_by(visit, both.charge)}.")

    def _first_visit(self, first: int) -> Change | None:
        """What lets in the visit that comes before."""
        change = self.best_change(first)
        if change is None:
            return None
        return Change(change.cost, "first visit", f"Let in {self.facts.need(first).id} first: {change.text}", 0)

    def _short_by(self, visit: int, charge: int) -> str:
        """What each budget that is too small for a visit lacks."""
        lacks = [(name, charge - money) for name, money in self._purses(visit) if charge > money]
        return " and ".join(
            f"${_cents(lack + MONEY_PER_CENT // 2 - 1) / 100:,.2f} more in {name}" for name, lack in lacks
        )

    # The constraint

    def constraint(self, visit: int) -> Reason:
        """The first constraint that alone keeps a visit out, in plain words."""
        for look in (self._by_itself, self._chained, self._full, self._short):
            found = look(visit)
            if found is not None:
                return found
        name, _ = min(self._purses(visit), key=lambda purse: purse[1])
        return "budget", f"{name[0].upper()}{name[1:]} is used up by visits that are worth more for their cost."

    def _by_itself(self, visit: int) -> Reason | None:
        """What keeps it out whatever else is in the plan."""
        return self._unable(visit) or self._no_day(visit) or self._too_long(visit)

    def _unable(self, visit: int) -> Reason | None:
        skills = ", ".join(sorted(self.facts.need(visit).skills)) or "any skill"
        return None if self.facts.by_crew[visit] else ("skills", f"No crew has all of: {skills}.")

    def _no_day(self, visit: int) -> Reason | None:
        given, need = self.facts.given, self.facts.need(visit)
        if need.first_day > given.last_day or need.last_day < given.first_day:
            return "window", "Its window lies outside the season."
        if not self.facts.window[visit]:
            return "closed", "The site is closed on every day of its window."
        if not any(self.facts.works[crew] & self.facts.window[visit] for crew in self.facts.by_crew[visit]):
            return "days off", "No crew with the skills works on any open day of its window."
        if not any(self.facts.works[crew] & self.able(visit, crew) for crew in self.facts.by_crew[visit]):
            return "skills", f"No crew at work in its window has all of: {', '.join(sorted(need.skills))}."
        return None

    def able(self, visit: int, crew: int) -> int:
        """Days of a visit's window on which a crew has its skills."""
        return self.facts.window[visit] & self.facts.days_able(visit, crew)

    def _too_long(self, visit: int) -> Reason | None:
        days, options = self.facts.window[visit], self.facts.by_crew[visit]
        if (
            self.cheapest(visit, options, days, self.usual, NO_LIMIT, alone=True, equipped=False, limit=NO_LIMIT)
            is None
        ):
            hours = self.facts.hours[visit] / TICKS_PER_HOUR
            return "too long", f"{hours:.1f} person-hours and the drive are more than any crew's day: split it."
        if min(trip.cost for _, trip in options.values()) > self.facts.value[visit]:
            return "value", "Doing it would cost more than it is worth."
        return None

    def _chained(self, visit: int) -> Reason | None:
        for link in self.facts.before[visit]:
            if self.board.crew[link.visit] < 0:
                return "first visit", f"It comes after {self.facts.need(link.visit).id}, which is left out."
        if not self.board.days_open(visit):
            return "lag", "The days that its chain leaves after the visit before it lie outside its window."
        return None

    def _full(self, visit: int) -> Reason | None:
        days, options = self.board.days_open(visit), self.facts.by_crew[visit]
        if self.cheapest(visit, options, days, self.board.left, NO_LIMIT) is not None:
            return None
        if self.cheapest(visit, options, days, self.board.left, NO_LIMIT, equipped=False) is not None:
            return "equipment", "On every day with room the equipment that it needs is out with other crews."
        return "crew time", "No crew with the skills has room for it on any day of its window."

    def _short(self, visit: int) -> Reason | None:
        days, options = self.board.days_open(visit), self.facts.by_crew[visit]
        found = self.cheapest(visit, options, days, self.board.left, self.money(visit))
        if found is None:
            return None
        return "value", "With the drive, doing it would cost more than it is worth or than another fund can bear."

    # Changes

    def changes(self, visit: int, money: int) -> Iterator[Change]:
        """Changes that let a visit in with so much money."""
        days = self.board.days_open(visit)
        for change in (self._license, self._crew_day, self._money, self._window, self._unit):
            yield from change(visit, days, money)

    def _license(self, visit: int, days: int, money: int) -> Iterator[Change]:
        options = {crew: self.facts.both(visit, crew) for crew in range(self.facts.crews)}
        found = self.cheapest(visit, options, days, self.board.left, money, licensed=False)
        if found:
            crew, day = self.facts.given.crews[found.crew], self.facts.given.days[found.day]
            missing = ", ".join(sorted(self.facts.need(visit).skills - crew.skills_on(day)))
            words = f"Crew {crew.id} could do it on {self._on(found.day)} with: {missing}."
            yield Change(found.cost, "license", words, found.charge)

    def _crew_day(self, visit: int, days: int, money: int) -> Iterator[Change]:
        """One more day of a crew: as if it had a day of its own for this visit."""
        options = self.facts.by_crew[visit]
        found = self.cheapest(visit, options, days, self.usual, money, alone=True)
        if found:
            name = self.facts.given.crews[found.crew].id
            words = f"One more day of crew {name}, such as {self._on(found.day)}."
            yield Change(found.cost, "crew day", words, found.charge)

    def _money(self, visit: int, days: int, money: int) -> Iterator[Change]:
        found = self.cheapest(visit, self.facts.by_crew[visit], days, self.board.left, NO_LIMIT)
        if found and found.charge > money:
            words = f"{self._short_by(visit, found.charge)}."
            yield Change(found.cost, "money", words, found.charge)

    def _window(self, visit: int, days: int, money: int) -> Iterator[Change]:
        """A day that keeps its lag but not its window, or its window but not its lag; never before what it follows."""
        window, lag, after = self.facts.window[visit], self.all_days, self.all_days
        for link in self.facts.before[visit]:
            first = self.board.day[link.visit]
            lag &= ((1 << (link.most - link.least + 1)) - 1) << (first + link.least)
            after &= ~((1 << first) - 1)
        other = self.open_days[self.facts.need(visit).site] & ~days & (lag & ~window | window & ~lag & after)
        found = self.cheapest(visit, self.facts.by_crew[visit], other, self.board.left, money)
        if found and window:
            kind = "lag" if window >> found.day & 1 else "window"
            words = "another lag" if kind == "lag" else "a longer window"
            yield Change(found.cost, kind, f"With {words} it could be done on {self._on(found.day)}.", found.charge)

    def _unit(self, visit: int, days: int, money: int) -> Iterator[Change]:
        if not self.facts.equipment[visit]:
            return
        found = self.cheapest(visit, self.facts.by_crew[visit], days, self.board.left, money, equipped=False)
        if found:
            kinds = ", ".join(sorted(self.facts.need(visit).equipment))
            yield Change(found.cost, "equipment", f"One more of: {kinds}, on {self._on(found.day)}.", found.charge)

    # Reading the plan

    def money(self, visit: int) -> int:
        """What is left for a visit, by the season's budget and its fund's."""
        return min(money for _, money in self._purses(visit))

    def _purses(self, visit: int) -> Iterator[tuple[str, int]]:
        """The budgets that a visit is paid from, in words, with what is left of each."""
        fund = self.facts.fund[visit]
        yield "the season's budget", self.board.money
        if fund != NOWHERE:
            yield f"the budget of fund {self.facts.need(visit).fund}", self.board.fund_money[fund]

    def _on(self, day: int) -> str:
        return day_words(self.facts.given, self.facts.given.days[day])

    def cheapest(
        self,
        visit: int,
        options: dict[int, Both],
        days: int,
        left: list[int],
        money: int,
        *,
        alone: bool = False,
        equipped: bool = True,
        licensed: bool = True,
        limit: int | None = None,
    ) -> Found | None:
        """The cheapest crew and day with enough hours in `left`; `alone`: the drive is always to be paid; not
        `licensed`: of crews on days without the skills."""
        board, best = self.board, None
        limit = self.facts.value[visit] + 1 if limit is None else limit
        for crew, both in options.items():
            there = 0 if alone else board.there[both[0].crew_site]
            able = self.facts.days_able(visit, crew)
            may = days & (able if licensed else ~able)
            for option, fit in ((both[0], may & there), (both[1], may & ~there)):
                if fit and option.cost < limit and option.charge <= money:
                    day = self._first(visit, option.need, crew, fit, left, (2 if alone else 1) if equipped else 0)
                    if day >= 0:
                        best, limit = Found(option.cost, option.charge, crew, day), option.cost
        return best

    def _first(self, visit: int, need: int, crew: int, fit: int, left: list[int], equipped: int) -> int:
        """The first day with room; `equipped`: 0 whatever is out, 1 with the crew's own units, 2 with further units."""
        start = crew * self.facts.days
        while fit:
            bit = fit & -fit
            fit ^= bit
            day = bit.bit_length() - 1
            if need <= left[start + day] and not self._lacks(visit, crew, day, equipped):
                return day
        return NOWHERE

    def _lacks(self, visit: int, crew: int, day: int, equipped: int) -> bool:
        if equipped < 2:
            return equipped == 1 and self.board.lacks(visit, crew, day)
        return any(
            sum(self.board.in_use[kind][day :: self.facts.days]) + units > self.facts.units[kind]
            for kind, units in self.facts.equipment[visit]
        )
