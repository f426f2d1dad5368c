"""A season's facts as the flat integer tables that the planner's search runs on.

Hours are integers of 1e-9 person-hour and money integers of 1e-6 cent, so that a search of millions of steps drifts by
nothing and repeats itself to the last digit. Days are bits of an integer: a visit's window, the days on which a crew
still has so many hours left, and the days on which it already drives to a site are each one integer, and the days that
fit are their intersection. Visits are numbered by value per hour, dearest first, so that in a set of visits kept as
bits the lowest bits are the ones most worth trying.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from estimating.plan import Assignment, CrewSupply, PlanInput, VisitNeed
from estimating.units import MINUTES_PER_HOUR

TICKS_PER_HOUR = 10**9
MONEY_PER_CENT = 10**6
# Sums of rounded hours may pass an equal limit by their last digits.
SLACK_TICKS = 50
# Steps in which the hours left of a crew's day are told apart before the exact comparison.
LEVELS = 32
NOWHERE = -1


class Option(NamedTuple):
    """A visit by one crew: joining others at the site, or with the drive there."""

    cost: int
    charge: int
    need: int
    level: int
    crew: int
    crew_site: int


Both = tuple[Option, Option]


class Link(NamedTuple):
    """The other visit of a chain and the lag in days."""

    visit: int
    least: int
    most: int


@dataclass(frozen=True, eq=False)
class PlanArrays:
    """The plan's inputs by number; `source[visit]` is the visit's place in the input.

    `value` is what the search goes by (owed visits outweigh all others together), `worth` the plain value. `charge`
    stands for cost at the level that budgets are held at. `away[visit]` has by crew the days on which it lacks a skill
    for the visit, where there are any; `works[crew]` its days at work. `leads`: of each visit's window the days that
    leave days for all that comes after it (all of the window where none do).
    """

    given: PlanInput
    source: list[int]
    hours: list[int]
    worth: list[int]
    value: list[int]
    site: list[int]
    number: dict[str, int]
    crew_number: dict[str, int]
    window: list[int]
    away: list[dict[int, int]]
    joins: list[list[Option]]
    trips: list[list[Option]]
    by_crew: list[dict[int, Both]]
    capacity: list[list[int]]
    works: list[int]
    quantum: list[int]
    drive: list[list[int]]
    drive_cost: list[list[int]]
    before: list[list[Link]]
    after: list[list[Link]]
    leads: list[int]
    budget: int | None
    fund: list[int]
    fund_budgets: list[int]
    equipment: list[list[tuple[int, int]]]
    units: list[int]
    fixed: list[tuple[int, int, int]]
    previous: dict[int, tuple[int, int]]
    penalty: int

    @property
    def visits(self) -> int:
        """Number of visits."""
        return len(self.hours)

    @property
    def crews(self) -> int:
        """Number of crews."""
        return len(self.capacity)

    @property
    def days(self) -> int:
        """Number of days of the season."""
        return len(self.given.days)

    def both(self, visit: int, crew: int) -> Both:
        """A visit by a crew, whether or not the crew has the skills."""
        known = self.by_crew[visit].get(crew)
        if known is not None:
            return known
        site, supply = self.site[visit], self.given.crews[crew]
        factor = budget_factor(self.need(visit), self.given.budget_level)
        pair, drive = crew * self.sites + site, self.drive[crew][site]
        rate, step = supply.cost_cents_per_hour, self.quantum[crew]
        other = self.need(visit).other_cents * MONEY_PER_CENT
        return both_options(self.hours[visit], factor, rate, drive, step, crew, pair, other)

    def days_able(self, visit: int, crew: int) -> int:
        """Days on which a crew has all skills of a visit."""
        return ((1 << self.days) - 1) & ~self.away[visit].get(crew, 0) if crew in self.by_crew[visit] else 0

    def need(self, visit: int) -> VisitNeed:
        """A visit as it was given."""
        return self.given.visits[self.source[visit]]

    @property
    def sites(self) -> int:
        """Number of sites."""
        return len(self.given.drive_minutes)


def money_for(hours: int, rate_cents: int) -> int:
    """Cost of hours at a rate in cents per hour."""
    return hours * rate_cents * MONEY_PER_CENT // TICKS_PER_HOUR


def both_options(
    hours: int, factor: float, rate_cents: int, drive: int, step: int, crew: int, pair: int, other: int
) -> Both:
    """A visit by a crew: joining others at the site, and with the drive. `other`: its cost beside the crew's hours."""
    work, road = money_for(hours, rate_cents) + other, money_for(drive, rate_cents)
    charge, whole = round(work * factor), hours + drive
    join = Option(work, charge, hours, min(LEVELS, hours // step), crew, pair)
    return join, Option(work + road, charge + road, whole, min(LEVELS, whole // step), crew, pair)


def ticks(hours: float) -> int:
    """Hours as an integer."""
    return round(hours * TICKS_PER_HOUR)


def budget_factor(visit: VisitNeed, level: float) -> float:
    """Cost at a level of its range ÷ likely cost, as if visits shared all of their error: exp(z × log spread), and at
    least the mean ÷ likely cost, exp(log spread² / 2).

    Quantiles of amounts that rise together add up, so this sum is the total's quantile when all error is shared. With
    errors of their own, totals spread less and come to lie about their mean, which is above the sum of likely costs: so
    for levels from 0.5 up the sum is on the safe side but for very skew spreads; the finished plan tells the true
    chance.
    """
    spread = float(np.hypot(visit.own_log_sd, visit.shared_log_sd))
    return float(np.exp(spread * max(NormalDist().inv_cdf(level), spread / 2)))


def _worth_order(given: PlanInput) -> list[int]:
    """Visits by value per hour with the mean drive, dearest first, owed ones before all; then by deadline."""
    people = sum(crew.people for crew in given.crews) / max(1, len(given.crews))

    def key(index: int) -> tuple[bool, float, int, int]:
        visit = given.visits[index]
        hours = visit.hours + people * given.drive_minutes[visit.site] / MINUTES_PER_HOUR
        return not visit.owed, -visit.value_cents / hours, visit.last_day.toordinal(), index

    return sorted(range(len(given.visits)), key=key)


def day_bits(given: PlanInput, visit: VisitNeed) -> int:
    """Days on which a visit may be made, as bits: its window inside the season, less the site's closed days."""
    first = max(0, (visit.first_day - given.first_day).days)
    last = min(len(given.days) - 1, (visit.last_day - given.first_day).days)
    if last < first:
        return 0
    bits = ((1 << (last - first + 1)) - 1) << first
    for day in given.closed_days.get(visit.site, ()):
        if given.first_day <= day <= given.last_day:
            bits &= ~(1 << (day - given.first_day).days)
    return bits


def _days_before(seconds: int, link: Link) -> int:
    """Days from which some of the second visit's days lie within the lag, as bits."""
    days, lags, more = seconds >> link.least, 1, link.most - link.least + 1
    while lags < more:
        step = min(lags, more - lags)
        days |= days >> step
        lags += step
    return days


def _capacity(given: PlanInput, crew: CrewSupply) -> list[int]:
    """Hours of each day, with the slack for last digits; NOWHERE on days off."""
    hours = [0.0 if day in given.days_off else crew.hours_on(day) for day in given.days]
    return [ticks(each) + SLACK_TICKS if each > 0 else NOWHERE for each in hours]


class _Reader:
    """Builds the tables step by step."""

    def __init__(self, given: PlanInput) -> None:
        self.given = given
        self.source = _worth_order(given)
        self.needs = [given.visits[index] for index in self.source]
        self.number = {need.id: number for number, need in enumerate(self.needs)}
        self.crew_number = {crew.id: number for number, crew in enumerate(given.crews)}
        self.site_number = {site: number for number, site in enumerate(given.drive_minutes)}
        self.capacity = [_capacity(given, crew) for crew in given.crews]
        self.quantum = [max([1, *days]) // LEVELS + 1 for days in self.capacity]
        self.drive = [[ticks(given.drive_hours(crew, site)) for site in given.drive_minutes] for crew in given.crews]
        self.rate = [crew.cost_cents_per_hour for crew in given.crews]

    def options(self, need: VisitNeed) -> dict[int, Both]:
        """By able crew: joining others at the site, and with the drive."""
        hours, site, sites = ticks(need.hours), self.site_number[need.site], len(self.site_number)
        factor = budget_factor(need, self.given.budget_level)
        return {
            number: both_options(
                hours,
                factor,
                self.rate[number],
                self.drive[number][site],
                self.quantum[number],
                number,
                number * sites + site,
                need.other_cents * MONEY_PER_CENT,
            )
            for number, crew in enumerate(self.given.crews)
            if need.skills <= crew.skills
        }

    def away(self, need: VisitNeed) -> dict[int, int]:
        """By able crew: days on which it lacks a skill for a visit."""
        able = ((number, crew) for number, crew in enumerate(self.given.crews) if need.skills <= crew.skills)
        days = {number: self.bits(day for day, away in crew.skills_away if away & need.skills) for number, crew in able}
        return {number: bits for number, bits in days.items() if bits}

    def bits(self, days: Iterable[date]) -> int:
        """Days of the season as bits."""
        first, last = self.given.first_day, self.given.last_day
        return sum(1 << (day - first).days for day in set(days) if first <= day <= last)

    def links(self) -> tuple[list[list[Link]], list[list[Link]]]:
        """Chains seen from the second visit and from the first."""
        before: list[list[Link]] = [[] for _ in self.needs]
        after: list[list[Link]] = [[] for _ in self.needs]
        for chain in self.given.chains:
            first, second = self.number[chain.first], self.number[chain.second]
            before[second].append(Link(first, chain.least_days, chain.most_days))
            after[first].append(Link(second, chain.least_days, chain.most_days))
        return before, after

    def leads(self, windows: list[int], after: list[list[Link]]) -> list[int]:
        """Of each visit's window the days that leave days for what comes after it; the whole window where none do."""
        found: dict[int, int] = {}

        def lead(visit: int) -> int:
            if visit not in found:
                days = windows[visit]
                for link in after[visit]:
                    days &= _days_before(lead(link.visit), link)
                found[visit] = days or windows[visit]
            return found[visit]

        return [lead(visit) for visit in range(len(windows))]

    def values(self, most_cost: int) -> list[int]:
        """Value in the search: owed visits count so much more that no other gain makes up for one of them."""
        worth = [need.value_cents * MONEY_PER_CENT for need in self.needs]
        others = sum(worth) + most_cost + 1
        least = min((value for value, need in zip(worth, self.needs, strict=True) if need.owed and value), default=1)
        times = others // least + 1
        return [value * times if need.owed else value for value, need in zip(worth, self.needs, strict=True)]

    def places(self) -> tuple[list[tuple[int, int, int]], dict[int, tuple[int, int]]]:
        """Fixed visits, and where the previous plan had the others as far as that is still known."""
        fixed = [self.place(entry) for entry in self.given.fixed]
        standing = {visit for visit, _, _ in fixed}
        known = [
            self.place(entry)
            for entry in self.given.previous
            if entry.visit in self.number
            and entry.crew in self.crew_number
            and self.given.first_day <= entry.day <= self.given.last_day
        ]
        return fixed, {visit: (crew, day) for visit, crew, day in known if visit not in standing}

    def place(self, entry: Assignment) -> tuple[int, int, int]:
        """An assignment by number."""
        day = (entry.day - self.given.first_day).days
        return self.number[entry.visit], self.crew_number[entry.crew], day

    def penalty(self) -> int:
        """What a moved visit costs."""
        if not self.given.previous:
            return 0
        if self.given.move_penalty_cents is not None:
            return self.given.move_penalty_cents * MONEY_PER_CENT
        return max((need.value_cents for need in self.needs), default=0) * MONEY_PER_CENT

    def equipment(self) -> tuple[list[list[tuple[int, int]]], list[int]]:
        """Units that each visit needs of each kind, and how many there are."""
        kinds = {kind: number for number, kind in enumerate(self.given.equipment)}
        needed = [[(kinds[kind], units) for kind, units in sorted(need.equipment.items())] for need in self.needs]
        return needed, list(self.given.equipment.values())


def plan_arrays(given: PlanInput) -> PlanArrays:
    """Read a plan's inputs; a window outside the season ends up with no day."""
    reader = _Reader(given)
    by_crew = [reader.options(need) for need in reader.needs]
    dearest = sum(max((trip.cost for _, trip in options.values()), default=0) for options in by_crew)
    before, after = reader.links()
    fixed, previous = reader.places()
    equipment, units = reader.equipment()
    penalty = reader.penalty()
    funds = {fund: number for number, fund in enumerate(given.fund_budgets_cents)}
    window = [day_bits(given, need) for need in reader.needs]
    return PlanArrays(
        given=given,
        source=reader.source,
        hours=[ticks(need.hours) for need in reader.needs],
        worth=[need.value_cents * MONEY_PER_CENT for need in reader.needs],
        value=reader.values(dearest + penalty * len(previous)),
        site=[reader.site_number[need.site] for need in reader.needs],
        number=reader.number,
        crew_number=reader.crew_number,
        window=window,
        away=[reader.away(need) for need in reader.needs],
        joins=[sorted(join for join, _ in options.values()) for options in by_crew],
        trips=[sorted(trip for _, trip in options.values()) for options in by_crew],
        by_crew=by_crew,
        capacity=reader.capacity,
        works=[sum(1 << day for day, hours in enumerate(crew) if hours > 0) for crew in reader.capacity],
        quantum=reader.quantum,
        drive=reader.drive,
        drive_cost=[[money_for(hours, reader.rate[crew]) for hours in row] for crew, row in enumerate(reader.drive)],
        before=before,
        after=after,
        leads=reader.leads(window, after),
        budget=None if given.budget_cents is None else given.budget_cents * MONEY_PER_CENT,
        fund=[funds.get(need.fund, NOWHERE) for need in reader.needs],
        fund_budgets=[cents * MONEY_PER_CENT for cents in given.fund_budgets_cents.values()],
        equipment=equipment,
        units=units,
        fixed=fixed,
        previous=previous,
        penalty=penalty,
    )
