"""The seed deadline: cut or remove before fruit. What is seen may bring it forward, and never moves it back.

Work with gloves and long sleeves: berries and sap of some species hurt skin and eyes. Local rules say where bagged
fruit may go.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.inputs import CLIMBING, SPRAWLING
from estimating.season_calendar import CalendarDay, Margins, SeasonCalendar, years_short

# Fruit that still hangs in these months of a year belongs to the season before.
LAST_MONTH_OF_OLD_FRUIT = 3
HALF_A_YEAR_DAYS = 182


@dataclass(frozen=True, kw_only=True)
class SeedFacts:
    """What the seed deadline needs to know of a component.

    `flower_to_fruit_days`: the species' own, from open flowers to fruit; None: unknown, the calendar's ranges serve.
    """

    growth_form: int
    fertile: Known
    fruit_seen_on: date | None = None
    flowers_seen_on: date | None = None
    flower_to_fruit_days: int | None = None

    def __post_init__(self) -> None:
        if self.flower_to_fruit_days is not None and self.flower_to_fruit_days < 0:
            raise InvalidFact("must be 0 or more", "flower_to_fruit_days")


@dataclass(frozen=True)
class SeedDeadline:
    """Cut or remove before fruit: the last day, and whether fruit was already seen, which makes it late, not later.

    Late: cut anyway and bag the fruit (`bag_fruit`); the work prevents no seed of this season (`seed_prevented`).
    """

    due: date
    late: bool
    because: str
    bag_fruit: bool = False
    seed_prevented: bool = True


def season_of(day: date, fruiting_first: CalendarDay | None = None) -> int:
    """The season year that fruit seen on a day belongs to.

    Fruit of the first months is old, unless the plant begins to fruit in them.
    """
    early = fruiting_first is not None and fruiting_first.month <= LAST_MONTH_OF_OLD_FRUIT
    return day.year - 1 if day.month <= LAST_MONTH_OF_OLD_FRUIT and not early else day.year


def carries_deadline(component: SeedFacts) -> bool:
    """Only climbing and sprawling components fruit; fertile, or not known not to be."""
    return component.growth_form in (CLIMBING, SPRAWLING) and component.fertile != Known.NO


def _flower_to_fruit_days(component: SeedFacts, site: SeasonCalendar) -> int | None:
    """The species' own days, or those between the beginnings of the two ranges, which may cross the new year."""
    if component.flower_to_fruit_days is not None:
        return component.flower_to_fruit_days
    if site.flowering_first is None or site.fruiting_first is None:
        return None
    days = (site.fruiting_first.on(2001) - site.flowering_first.on(2001)).days
    return days if days >= 0 else days + 365


def _by_flowers(
    fruiting: Sequence[SeedFacts], site: SeasonCalendar, first: date, margins: Margins
) -> Iterator[tuple[date, str]]:
    """Due days by flowers that were seen, of those whose fruit would belong to this season."""
    for component in fruiting:
        days = _flower_to_fruit_days(component, site)
        if component.flowers_seen_on is None or days is None:
            continue
        fruit = component.flowers_seen_on + timedelta(days=days)
        if abs((fruit - first).days) <= HALF_A_YEAR_DAYS:
            seen = component.flowers_seen_on.isoformat()
            because = (
                f"flowers were seen on {seen}, fruit follows in {days} days, less {margins.before_fruit_days} days"
            )
            yield fruit - timedelta(days=margins.before_fruit_days), because


def _by_calendar(
    fruiting: Sequence[SeedFacts], first: CalendarDay, season_year: int, margins: Margins
) -> tuple[date, str]:
    known = any(component.fertile == Known.YES for component in fruiting)
    what = "it fruits" if known else "it may fruit: the survey does not say"
    short = years_short(first, margins)
    because = f"{what}; fruiting begins, less {margins.before_fruit_days} days" + (f"; {short}" if short else "")
    return first.early(season_year) - timedelta(days=margins.before_fruit_days), because


def seed_deadline(
    components: Sequence[SeedFacts],
    site: SeasonCalendar,
    season_year: int,
    margins: Margins | None = None,
) -> SeedDeadline | None:
    """Last day to cut or remove before fruit: the early end of the fruiting range less the margin.

    None where no component can fruit. Flowers that were seen may bring it forward: the day, plus the days from flower
    to fruit, less the margin. Fruit already seen in the season year makes it late. Neither moves it to a later day.
    """
    margins = margins or Margins()
    fruiting = [component for component in components if carries_deadline(component)]
    if not fruiting:
        return None
    first = site.fruiting_first
    if first is None:
        raise InvalidFact("the site's calendar has no fruiting range", "fruiting_first")
    by_calendar = _by_calendar(fruiting, first, season_year, margins)
    by_flowers = _by_flowers(fruiting, site, first.on(season_year), margins)
    due, because = min((by_calendar, *by_flowers), key=lambda found: found[0])
    seen = [
        component.fruit_seen_on
        for component in fruiting
        if component.fruit_seen_on is not None and season_of(component.fruit_seen_on, first) == season_year
    ]
    if not seen:
        return SeedDeadline(due, False, because)
    because = f"fruit was seen on {min(seen).isoformat()}"
    return SeedDeadline(min(due, *seen), True, because, bag_fruit=True, seed_prevented=False)
