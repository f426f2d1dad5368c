"""Rows of a season as the lanes of its picture: one for each site, crew or patch."""

from abc import abstractmethod
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, overload

from django.db.models import QuerySet

from orders.crews.models import Crew
from orders.desk.charts_season import Lane, Link, Span, Stop
from orders.planning.models import PlanRun, Prescription, Season
from orders.planning.season_course import (
    RowDays,
    RowVisit,
    SeasonRow,
    crews_serving,
    season_asked,
    season_days_of,
    season_rows_of,
)
from orders.sites.models import Site
from orders.sites.season_facts import closed_days
from orders.sites.selectors import closures

Closures = dict[int, list[Span]]  # by site


def closures_of(season: Season) -> Closures:
    """Days on which sites are closed, to all work or to some methods; yearly ones in each year."""
    found: Closures = defaultdict(list)
    for row in closures().filter(first_day__lte=season.last_day):
        found[row.site_id] += [(days.first, days.last) for days in closed_days(row, season.first_day, season.last_day)]
    return {site: sorted(spans) for site, spans in found.items()}


@dataclass(frozen=True)
class ShownLane:
    """A lane with the site that it is of, or the rows that it shows one by one."""

    lane: Lane
    site: Site | None = None
    rows: Sequence[SeasonRow] = ()


class LanePages(Sequence[ShownLane]):
    """The lanes of a season, in order. Whoever shows a part of them reads that part: a lane is a site, a crew or one
    patch, by its key."""

    def __init__(self, season: Season, asked: QuerySet[Prescription], run: PlanRun | None) -> None:
        self.season, self.asked, self.run = season, asked, run
        self.keys = self._keys()

    @abstractmethod
    def _keys(self) -> Sequence[Any]: ...

    @abstractmethod
    def _lanes(self, keys: Sequence[Any]) -> list[ShownLane]: ...

    def __len__(self) -> int:
        return len(self.keys)

    @overload
    def __getitem__(self, which: int) -> ShownLane: ...
    @overload
    def __getitem__(self, which: slice) -> list[ShownLane]: ...
    def __getitem__(self, which: int | slice) -> ShownLane | list[ShownLane]:
        return self._lanes(self.keys[which]) if isinstance(which, slice) else self._lanes([self.keys[which]])[0]

    def rows(self, **narrowed: Any) -> list[SeasonRow]:
        return season_rows_of(self.season, self.asked.filter(**narrowed), self.run)

    def days(self, **narrowed: Any) -> list[tuple[int, RowDays]]:
        return season_days_of(self.season, self.asked.filter(**narrowed), self.run)


class SiteLanes(LanePages):
    def _keys(self) -> Sequence[int]:
        sites = self.asked.order_by("patch__site__code").values_list("patch__site_id", "patch__site__code")
        return [site for site, _ in sites.distinct()]

    def _lanes(self, keys: Sequence[int]) -> list[ShownLane]:
        closed, by_site = closures_of(self.season), defaultdict(list)
        for key, row in self.days(patch__site__in=keys):
            by_site[key].append(row)
        sites = Site.objects.defer("boundary").in_bulk(keys)
        return [
            ShownLane(_lane(f"{sites[key].code} {sites[key].name}", by_site[key], closed.get(key, ())), sites[key])
            for key in keys
        ]


class PatchLanes(LanePages):
    """Within one site the site is not named."""

    def _keys(self) -> Sequence[int]:
        return list(self.asked.values_list("pk", flat=True))

    def _lanes(self, keys: Sequence[int]) -> list[ShownLane]:
        closed, rows = closures_of(self.season), self.rows(pk__in=keys)
        alone = self.asked.order_by().values("patch__site").distinct().count() == 1
        named = [row.patch.code if alone else str(row.patch) for row in rows]
        return [
            ShownLane(_lane(f"{name} {row.method.name}", [row], closed.get(row.site.pk, ())), row.site, [row])
            for name, row in zip(named, rows, strict=True)
        ]


class CrewLanes(LanePages):
    """What each crew has a visit for; rows without a visit stand last."""

    def _keys(self) -> Sequence[Crew | None]:
        unserved = self._unserved().exists()
        return [*crews_serving(self.season, self.asked, self.run), *([None] if unserved else [])]

    def _unserved(self) -> QuerySet[Prescription]:
        return self.asked.filter(pk__in=season_asked(self.season, self.run, state="").order_by().values("pk"))

    def _lanes(self, keys: Sequence[Crew | None]) -> list[ShownLane]:
        by_crew: dict[int, list[RowDays]] = defaultdict(list)
        for _, row in self.days():
            for crew in {visit.crew.pk for visit in row.visits}:
                by_crew[crew].append(row)
        return [ShownLane(_lane(crew.name, by_crew[crew.pk], crew=crew) if crew else self._of_none()) for crew in keys]

    def _of_none(self) -> Lane:
        return _lane("No crew yet", [row for _, row in season_days_of(self.season, self._unserved(), self.run)])


LANES_BY: dict[str, type[LanePages]] = {"site": SiteLanes, "crew": CrewLanes, "patch": PatchLanes}


def lanes_by(by: str, season: Season, asked: QuerySet[Prescription], run: PlanRun | None) -> LanePages:
    return LANES_BY[by](season, asked, run)


def _lane(label: str, rows: Sequence[RowDays], closed: Sequence[Span] = (), crew: Crew | None = None) -> Lane:
    """The rows as one lane; with a crew only its visits, each once however many patches it serves."""
    hours: dict[Hashable, float] = defaultdict(float)
    first: dict[Hashable, RowVisit] = {}
    for visit in (visit for row in rows for visit in row.visits if crew is None or visit.crew == crew):
        first.setdefault(visit.visit, visit)
        hours[visit.visit] += visit.hours
    stops = [Stop(visit.day, visit.state, hours[key]) for key, visit in first.items()]
    return Lane(
        label=label,
        windows=[(row.first_day, row.last_day) for row in rows],
        stops=sorted(stops, key=lambda stop: stop.day),
        deadlines=sorted({(row.seed_due_on, row.deadline) for row in rows if row.seed_due_on}),
        closures=closed,
    )


def links_of(rows: Sequence[SeasonRow]) -> list[Link]:
    """From the last visit of a step to the first of what follows it, where both are among the lanes."""
    lanes = {row.prescription.pk: (number, row) for number, row in enumerate(rows)}
    links = []
    for number, row in enumerate(rows):
        before = lanes.get(row.prescription.follows_id or 0)
        if before and before[1].visits and row.visits:
            links.append(Link(before[0], _days(before[1])[-1], number, _days(row)[0]))
    return links


def _days(row: SeasonRow) -> list[date]:
    return sorted(visit.day for visit in row.visits)
