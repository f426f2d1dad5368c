"""A plan in the making: who is where when, what is left of each crew's day and of the money.

`put` and `take_up` change it a visit at a time; `best_place` finds where a visit costs least. All of a round's changes
can be undone, since `put` and `take_up` are exact opposites.
"""

from collections.abc import Callable, Collection, Iterable, Iterator

from estimating.errors import UnknownCode
from estimating.plan import Assignment
from estimating.plan_arrays import LEVELS, NOWHERE, Option, PlanArrays

Place = tuple[int, int]
NO_LIMIT = 1 << 100


class Board:
    """Visits by number on crews and days. `score`: value of what is planned, less its cost and the penalty of moves."""

    def __init__(self, facts: PlanArrays) -> None:
        self.facts = facts
        days = self.days = facts.days
        self.sites = facts.sites
        self.crew = [NOWHERE] * facts.visits
        self.day = [NOWHERE] * facts.visits
        self.at: list[list[int]] = [[] for _ in range(facts.crews * days)]
        self.left = [hours for crew in facts.capacity for hours in crew]
        self.level = [NOWHERE] * (facts.crews * days)
        self.room = [[0] * (LEVELS + 1) for _ in range(facts.crews)]
        self.there = [0] * (facts.crews * facts.sites)
        self.waiting = (1 << facts.visits) - 1
        self.score = 0
        self.cost = 0
        self.money = NO_LIMIT if facts.budget is None else facts.budget
        self.fund_money = list(facts.fund_budgets)
        self.in_use = [[0] * (facts.crews * days) for _ in facts.units]
        self.standing: set[int] = set()
        for crew_day in range(facts.crews * days):
            self._level(crew_day)
        for visit, crew, day in facts.fixed:
            self.put(visit, crew, day)
            self.standing.add(visit)
        self.fund_floor = [min(0, money) for money in self.fund_money]

    @classmethod
    def of(cls, facts: PlanArrays, assignments: Iterable[Assignment]) -> "Board":
        """A plan as it is, whether or not it keeps the rules; fixed visits stand even where it does not name them."""
        board = cls(facts)
        for entry in assignments:
            visit, crew = facts.number.get(entry.visit), facts.crew_number.get(entry.crew)
            day = (entry.day - facts.given.first_day).days
            if visit is None or crew is None or not 0 <= day < facts.days:
                raise UnknownCode(f"{entry.visit} with {entry.crew} on {entry.day}: not of this season", "assignments")
            if board.crew[visit] >= 0:
                board.take_up(visit)
            board.put(visit, crew, day)
        return board

    def _level(self, crew_day: int) -> None:
        """Bring the days by room up to date with what is left of a crew's day."""
        crew, day = divmod(crew_day, self.days)
        left, was = self.left[crew_day], self.level[crew_day]
        now = left // self.facts.quantum[crew] if left >= 0 else NOWHERE
        low, high = (was, now) if now > was else (now, was)
        bit, room = 1 << day, self.room[crew]
        for level in range(low + 1, high + 1):
            room[level] ^= bit
        self.level[crew_day] = now

    def days_open(self, visit: int) -> int:
        """Days on which a visit may be made as the visits before it in its chains stand now."""
        facts = self.facts
        bits = facts.window[visit]
        for link in facts.before[visit]:
            first = self.day[link.visit]
            if first < 0:
                return 0
            bits &= ((1 << (link.most - link.least + 1)) - 1) << (first + link.least)
        return bits

    def days_between(self, visit: int, aside: Collection[int] = ()) -> int:
        """Days on which a visit may be made as the visits before and after it stand now; those `aside` do not count."""
        bits = self.facts.window[visit]
        for link in self.facts.before[visit]:
            first = self.day[link.visit]
            if link.visit not in aside:
                bits &= _lag(first + link.least, first + link.most) if first >= 0 else 0
        for link in self.facts.after[visit]:
            second = self.day[link.visit]
            if link.visit not in aside and second >= 0:
                bits &= _lag(second - link.most, second - link.least)
        return bits

    def best_place(
        self, visit: int, limit: int, chance: Callable[[], float], blink: float, days: int | None = None
    ) -> Place | None:
        """The crew and day where a visit costs least, under `limit`; of equal days the one that it fills best.

        Each crew is overlooked with the chance `blink`, which keeps the search from treading in its own steps. `days`
        to choose from are those that the visits before it leave, if not given.
        """
        if days is None:
            days = self.days_open(visit)
        if not days:
            return None
        money = self.money
        if self.fund_money and self.facts.fund[visit] >= 0:
            money = min(money, self.fund_money[self.facts.fund[visit]])
        joins, trips = self.facts.joins[visit], self.facts.trips[visit]
        best, limit = self._cheapest(visit, joins, days, limit, money, 0, chance, blink)
        other, _ = self._cheapest(visit, trips, days, limit, money, -1, chance, blink)
        return best if other is None else other

    def _cheapest(
        self,
        visit: int,
        options: list[Option],
        days: int,
        limit: int,
        money: int,
        elsewhere: int,
        chance: Callable[[], float],
        blink: float,
    ) -> tuple[Place | None, int]:
        """The first option with room under `limit`, on days with the crew at the site (elsewhere 0) or not (-1)."""
        rooms, there = self.room, self.there
        for cost, charge, need, level, crew, pair in options:
            if cost >= limit:
                break
            fit = days & rooms[crew][level] & (there[pair] ^ elsewhere)
            if fit and charge <= money and chance() >= blink:
                day = self._tightest(visit, crew, fit, need)
                if day >= 0:
                    return (crew, day), cost
        return None, limit

    def _tightest(self, visit: int, crew: int, fit: int, need: int) -> int:
        """Of some days, the one with the least left that still holds so many hours; NOWHERE: none."""
        left, start = self.left, crew * self.days
        found, least = NOWHERE, NO_LIMIT
        equipped, away = self.facts.equipment[visit], self.facts.away[visit]
        if away:
            fit &= ~away.get(crew, 0)
        while fit:
            bit = fit & -fit
            fit ^= bit
            day = bit.bit_length() - 1
            if need <= left[start + day] < least and not (equipped and self.lacks(visit, crew, day)):
                found, least = day, left[start + day]
        return found

    def lacks(self, visit: int, crew: int, day: int) -> bool:
        """Whether equipment is short for a visit on a day, beside what all crews have out then."""
        return any(True for _ in self.short(visit, crew, day))

    def short(self, visit: int, crew: int, day: int) -> Iterator[tuple[int, int]]:
        """Kinds of equipment that are short for a visit on a day, and how many units would be out."""
        for kind, units in self.facts.equipment[visit]:
            use = self.in_use[kind]
            mine = crew * self.days + day
            out = sum(use[day :: self.days]) - use[mine] + max(units, use[mine])
            if out > self.facts.units[kind]:
                yield kind, out

    def may(self, visit: int, crew: int, day: int) -> bool:
        """Whether a visit fits exactly there now."""
        options = self.facts.by_crew[visit].get(crew)
        days = self.days_open(visit) & self.facts.days_able(visit, crew)
        if options is None or not days >> day & 1 or self.lacks(visit, crew, day):
            return False
        _, charge, need, _, _, _ = options[0 if self.there[options[0].crew_site] >> day & 1 else 1]
        fund = self.facts.fund[visit]
        pays = charge <= self.money and (fund < 0 or charge <= self.fund_money[fund])
        return pays and need <= self.left[crew * self.days + day]

    def put(self, visit: int, crew: int, day: int) -> None:
        """Plan a visit."""
        facts = self.facts
        crew_day, site = crew * self.days + day, facts.site[visit]
        pair = crew * self.sites + site
        need, cost, charge = self._takes(visit, crew, not self.there[pair] >> day & 1)
        if self.fund_money:
            self._charge_funds(crew_day, site, 1)
        self.there[pair] |= 1 << day
        self.at[crew_day].append(visit)
        self.crew[visit], self.day[visit] = crew, day
        self.left[crew_day] -= need
        self._level(crew_day)
        self.waiting ^= 1 << visit
        self.cost += cost
        self.money -= charge
        self.score += facts.value[visit] - cost + (self._kept(visit, crew, day) if facts.penalty else 0)
        if self.fund_money or facts.equipment[visit]:
            self._settle(visit, crew_day, site)

    def take_up(self, visit: int) -> None:
        """Take a planned visit out again."""
        facts = self.facts
        crew, day = self.crew[visit], self.day[visit]
        crew_day, site = crew * self.days + day, facts.site[visit]
        if self.fund_money:
            self._charge_funds(crew_day, site, 1)
        here = self.at[crew_day]
        here.remove(visit)
        alone = True
        for other in here:
            if facts.site[other] == site:
                alone = False
        if alone:
            self.there[crew * self.sites + site] ^= 1 << day
        need, cost, charge = self._takes(visit, crew, alone)
        self.crew[visit] = self.day[visit] = NOWHERE
        self.left[crew_day] += need
        self._level(crew_day)
        self.waiting ^= 1 << visit
        self.cost -= cost
        self.money += charge
        self.score -= facts.value[visit] - cost + (self._kept(visit, crew, day) if facts.penalty else 0)
        if self.fund_money or facts.equipment[visit]:
            self._settle(visit, crew_day, site)

    def _takes(self, visit: int, crew: int, drives: bool) -> tuple[int, int, int]:
        """Hours, cost and charge of a visit by a crew; a fixed visit may stand with a crew that lacks the skills."""
        both = self.facts.by_crew[visit].get(crew) or self.facts.both(visit, crew)
        cost, charge, need, _, _, _ = both[1 if drives else 0]
        return need, cost, charge

    def _kept(self, visit: int, crew: int, day: int) -> int:
        """What is gained by leaving a visit where the previous plan had it."""
        return self.facts.penalty if self.facts.previous.get(visit) == (crew, day) else 0

    def _settle(self, visit: int, crew_day: int, site: int) -> None:
        """Bring funds and equipment up to date with who is there now."""
        if self.facts.fund_budgets:
            self._charge_funds(crew_day, site, -1)
        for kind, _ in self.facts.equipment[visit]:
            needs = [
                units for other in self.at[crew_day] for each, units in self.facts.equipment[other] if each == kind
            ]
            self.in_use[kind][crew_day] = max(needs, default=0)

    def _charge_funds(self, crew_day: int, site: int, sign: int) -> None:
        """Add to the funds' money (sign -1: take from it) what the visits at a site on a crew's day take."""
        facts, crew = self.facts, crew_day // self.days
        here = [visit for visit in self.at[crew_day] if facts.site[visit] == site]
        hours = sum(facts.hours[visit] for visit in here)
        for visit in here:
            fund = facts.fund[visit]
            if fund >= 0:
                _, _, charge = self._takes(visit, crew, drives=False)
                road = facts.drive_cost[crew][site] * facts.hours[visit] // hours
                self.fund_money[fund] += sign * (charge + road)

    @property
    def overspent(self) -> bool:
        """Whether a fund has less than nothing left, or less than the fixed visits alone leave it.

        A drive that is shared with fewer visits costs each of them more.
        """
        return any(money < floor for money, floor in zip(self.fund_money, self.fund_floor, strict=True))

    def places(self) -> list[Place]:
        """Crew and day of each visit."""
        return list(zip(self.crew, self.day, strict=True))


def _lag(first: int, last: int) -> int:
    """Days from first to last as bits, from day 0."""
    return ((1 << (last + 1)) - 1) & ~((1 << max(0, first)) - 1) if last >= 0 else 0
