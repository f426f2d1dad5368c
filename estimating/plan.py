"""What a season's plan is made from and what it says: visits, crews, assignments, and what was left out and why.

Hours are person-hours. A crew's day holds `people` x `hours_a_day`; driving to a site takes the round trip for every
person of the crew, once per crew, site and day.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property

from estimating.errors import InvalidFact, UnknownCode
from estimating.pricing import split_cents
from estimating.units import MINUTES_PER_HOUR


@dataclass(frozen=True, kw_only=True)
class VisitNeed:
    """One crew-day's work at most: what it takes, where, when it may be done, and what doing it is worth.

    `other_cents`: what it costs beside the crew's hours, such as product and fuel.
    `equipment`: units of each kind that the crew has with it on that day. `fund` pays ("": only the season's budget
    holds). `owed`: follow-up on ground under treatment, which is served before new ground. The log spreads are those of
    its cost: its own, and the part that it shares with all visits of the same `shares_error_with`.
    """

    id: str
    prescription: str
    site: str
    hours: float
    first_day: date
    last_day: date
    value_cents: int
    other_cents: int = 0
    skills: frozenset[str] = frozenset()
    equipment: Mapping[str, int] = field(default_factory=dict, hash=False)
    fund: str = ""
    owed: bool = False
    own_log_sd: float = 0.0
    shared_log_sd: float = 0.0
    shares_error_with: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "skills", frozenset(self.skills))
        if any(units < 1 for units in self.equipment.values()):
            raise InvalidFact(f"{self.id}: must be 1 or more", "equipment")
        if not (0 <= self.own_log_sd < float("inf") and 0 <= self.shared_log_sd < float("inf")):
            raise InvalidFact(f"{self.id}: must be 0 or more", "log_sd")
        if not 0 < self.hours < float("inf"):
            raise InvalidFact(f"{self.id}: must be above 0", "hours")
        if self.last_day < self.first_day:
            raise InvalidFact(f"{self.id}: must not be before the first day", "last_day")
        for name in ("value_cents", "other_cents"):
            if getattr(self, name) < 0:
                raise InvalidFact(f"{self.id}: must be 0 or more", name)


@dataclass(frozen=True, kw_only=True)
class CrewSupply:
    """A crew: its people, their hours a day on the road and at work, skills, days off and standard cost.

    `other_hours` lists days on which its people have other hours than usual, such as half a day; `skills_away` lists
    days on which it lacks some of its skills, such as when the one licensed person is off.
    """

    id: str
    people: int
    hours_a_day: float
    cost_cents_per_hour: int
    skills: frozenset[str] = frozenset()
    days_off: frozenset[date] = frozenset()
    other_hours: tuple[tuple[date, float], ...] = ()
    skills_away: tuple[tuple[date, frozenset[str]], ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "skills", frozenset(self.skills))
        object.__setattr__(self, "days_off", frozenset(self.days_off))
        object.__setattr__(self, "skills_away", tuple((day, frozenset(away)) for day, away in self.skills_away))
        if any(not 0 <= hours <= 24 for _, hours in self.other_hours):
            raise InvalidFact(f"{self.id}: must be 0 to 24", "other_hours")
        if self.people < 1:
            raise InvalidFact(f"{self.id}: a crew has at least one person", "people")
        if not 0 < self.hours_a_day <= 24:
            raise InvalidFact(f"{self.id}: must be above 0 and at most 24", "hours_a_day")
        if self.cost_cents_per_hour < 0:
            raise InvalidFact(f"{self.id}: must be 0 or more", "cost_cents_per_hour")

    @property
    def day_hours(self) -> float:
        """Person-hours of a usual day."""
        return self.people * self.hours_a_day

    def hours_on(self, day: date) -> float:
        """Person-hours on a day; 0 on a day off."""
        return 0.0 if day in self.days_off else self.hours_at_work(day)

    def hours_at_work(self, day: date) -> float:
        """Person-hours on a day as if it were none off."""
        return self.people * dict(self.other_hours).get(day, self.hours_a_day)

    def skills_on(self, day: date) -> frozenset[str]:
        """Skills that it has on a day."""
        return self.skills.difference(*(away for lacking, away in self.skills_away if lacking == day))


@dataclass(frozen=True, kw_only=True)
class Chain:
    """The second visit only if the first is done, `least_days` to `most_days` after it."""

    first: str
    second: str
    least_days: int
    most_days: int

    def __post_init__(self) -> None:
        if not 0 <= self.least_days <= self.most_days:
            raise InvalidFact(f"{self.first} then {self.second}: least and most days must rise from 0", "chains")


@dataclass(frozen=True)
class Assignment:
    """A visit given to a crew on a day."""

    visit: str
    crew: str
    day: date


def _unique(name: str, ids: Iterable[str]) -> None:
    seen: set[str] = set()
    for found in ids:
        if found in seen:
            raise InvalidFact(f"{found!r} stands there twice", name)
        seen.add(found)


def _no_circle(chains: Iterable[Chain]) -> None:
    """Chains must not lead back to where they began."""
    after: dict[str, set[str]] = {}
    for chain in chains:
        after.setdefault(chain.first, set()).add(chain.second)
    open_ends = {visit for seconds in after.values() for visit in seconds}
    while after:
        starts = after.keys() - open_ends
        if not starts:
            raise InvalidFact(f"{min(after)!r} comes after itself", "chains")
        for start in starts:
            del after[start]
        open_ends = {visit for seconds in after.values() for visit in seconds}


@dataclass(frozen=True, kw_only=True)
class PlanInput:
    """A season to plan. `drive_minutes` is the round trip to each site; `days_off` are days on which nobody works;
    `closed_days` by site are days on which nobody may work there.

    `equipment` counts the units of each kind that there are. Budgets hold at the `budget_level` point of the range of
    cost, and at least at its mean (visits without spread: the plain cost); a drive is paid by the funds of the visits
    made there that day, in proportion of their hours. `fixed` visits stay where they are. Against a `previous` plan
    each visit that stands elsewhere or is left out costs `move_penalty_cents` (none given: the highest value of a
    visit; 0: the search starts from that plan and moves freely).
    """

    first_day: date
    last_day: date
    visits: tuple[VisitNeed, ...]
    crews: tuple[CrewSupply, ...]
    drive_minutes: Mapping[str, float]
    days_off: frozenset[date] = frozenset()
    closed_days: Mapping[str, frozenset[date]] = field(default_factory=dict)
    budget_cents: int | None = None
    chains: tuple[Chain, ...] = ()
    equipment: Mapping[str, int] = field(default_factory=dict, hash=False)
    fund_budgets_cents: Mapping[str, int] = field(default_factory=dict, hash=False)
    budget_level: float = 0.5
    fixed: tuple[Assignment, ...] = ()
    previous: tuple[Assignment, ...] = ()
    move_penalty_cents: int | None = None

    def __post_init__(self) -> None:
        for name in ("visits", "crews", "chains", "fixed", "previous"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        for name in ("visits", "crews"):
            _unique(name, (entry.id for entry in getattr(self, name)))
        if self.last_day < self.first_day:
            raise InvalidFact("must not be before the first day", "last_day")
        if not 0 < self.budget_level < 1:
            raise InvalidFact("must lie between 0 and 1", "budget_level")
        self._check_sites()
        self._check_visits()
        self._check_chains()
        self._check_fixed()
        object.__setattr__(self, "days_off", frozenset(self.days_off))

    def _check_sites(self) -> None:
        for site in self.closed_days:
            if site not in self.drive_minutes:
                raise UnknownCode(f"no drive time to site {site!r}", "closed_days")
        if any(not 0 <= minutes < float("inf") for minutes in self.drive_minutes.values()):
            raise InvalidFact("must be 0 or more", "drive_minutes")

    def _check_visits(self) -> None:
        for visit in self.visits:
            if visit.site not in self.drive_minutes:
                raise UnknownCode(f"{visit.id}: no drive time to site {visit.site!r}", "drive_minutes")
            if visit.fund and visit.fund not in self.fund_budgets_cents:
                raise UnknownCode(f"{visit.id}: no budget of fund {visit.fund!r}", "fund_budgets_cents")
            for kind in visit.equipment:
                if kind not in self.equipment:
                    raise UnknownCode(f"{visit.id}: no count of {kind!r}", "equipment")

    def _check_chains(self) -> None:
        visits = {visit.id for visit in self.visits}
        for chain in self.chains:
            if not {chain.first, chain.second} <= visits:
                raise UnknownCode(f"{chain.first} then {chain.second}: no such visits", "chains")
        _no_circle(self.chains)

    def _check_fixed(self) -> None:
        visits, crews = {visit.id for visit in self.visits}, {crew.id for crew in self.crews}
        _unique("fixed", (entry.visit for entry in self.fixed))
        for entry in self.fixed:
            if entry.visit not in visits or entry.crew not in crews:
                raise UnknownCode(f"{entry.visit} with {entry.crew}: no such visit or crew", "fixed")
            if not self.first_day <= entry.day <= self.last_day:
                raise InvalidFact(f"{entry.visit}: is outside the season", "fixed")

    @cached_property
    def days(self) -> tuple[date, ...]:
        """All days of the season, worked or not."""
        return tuple(
            self.first_day + timedelta(days=offset) for offset in range((self.last_day - self.first_day).days + 1)
        )

    def drive_hours(self, crew: CrewSupply, site: str) -> float:
        """Person-hours a crew drives to a site and back."""
        return crew.people * self.drive_minutes[site] / MINUTES_PER_HOUR

    def able(self, visit: VisitNeed) -> tuple[CrewSupply, ...]:
        """Crews that have all skills of a visit, at least on some days."""
        return tuple(crew for crew in self.crews if visit.skills <= crew.skills)


@dataclass(frozen=True)
class LeftOut:
    """A visit that is not in the plan, and the constraint that kept it out.

    `change`: the cheapest change that lets it in (`license`, `crew day`, `money`, `window`, `lag`, `equipment`,
    `split`, `worth`, `first visit` or ""), told in `would_help`, with what it costs beside the plan.
    """

    visit: str
    constraint: str
    because: str
    change: str = ""
    would_help: str = ""
    change_cents: int = 0


@dataclass(frozen=True)
class FundUse:
    """What a plan takes from a budget: its cost, that cost at the level which the budget is held at, and the chance
    that the work costs more than there is. Fund "": the season's budget."""

    fund: str
    budget_cents: int
    cost_cents: int
    level_cents: int
    chance_over: float


@dataclass(frozen=True)
class Plan:
    """A season's plan; `stopped`: the caller ended the search early, and this is the best found by then."""

    assignments: tuple[Assignment, ...]
    left_out: tuple[LeftOut, ...]
    cost_cents: int
    value_cents: int
    rounds: int
    stopped: bool = field(default=False)
    funds: tuple[FundUse, ...] = ()
    moved: tuple[str, ...] = ()


def split_hours(hours: float, most_hours: float) -> tuple[float, ...]:
    """Equal parts of at most `most_hours`, as few as possible."""
    if not 0 < most_hours < float("inf"):
        raise InvalidFact("must be above 0", "most_hours")
    parts = max(1, -int(-(hours / most_hours) // 1))
    return (hours / parts,) * parts


def split_visit(visit: VisitNeed, most_hours: float) -> tuple[VisitNeed, ...]:
    """A big visit as several of at most `most_hours` with the same window; money is shared to the cent."""
    hours = split_hours(visit.hours, most_hours)
    if len(hours) == 1:
        return (visit,)
    values = split_cents(visit.value_cents, [1] * len(hours))
    others = split_cents(visit.other_cents, [1] * len(hours))
    return tuple(
        replace(visit, id=f"{visit.id}/{number}", hours=part, value_cents=value, other_cents=other)
        for number, (part, value, other) in enumerate(zip(hours, values, others, strict=True), start=1)
    )


def split_long_visits(plan_input: PlanInput) -> PlanInput:
    """Each visit cut so that the smallest crew able to do it can do a part in one day.

    A visit that no crew is able to do, or whose drive takes the whole day, stays as it is, for the plan to say so.
    Fixed visits stay whole. In a chain each part of the second comes after every part of the first.
    """
    standing = {entry.visit for entry in plan_input.fixed}
    parts: dict[str, tuple[VisitNeed, ...]] = {}
    for visit in plan_input.visits:
        days = [crew.day_hours - plan_input.drive_hours(crew, visit.site) for crew in plan_input.able(visit)]
        days = [hours for hours in days if hours > 0]
        whole = not days or visit.id in standing
        parts[visit.id] = (visit,) if whole else split_visit(visit, min(days))
    chains = tuple(
        replace(chain, first=first.id, second=second.id)
        for chain in plan_input.chains
        for first in parts[chain.first]
        for second in parts[chain.second]
    )
    return replace(plan_input, visits=tuple(part for entry in parts.values() for part in entry), chains=chains)
