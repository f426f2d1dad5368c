"""Rows of a season as the lanes of its picture: one for each site, crew or patch."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from datetime import date

from orders.crews.models import Crew
from orders.desk.charts_season import Lane, Link, Span, Stop
from orders.planning.models import Season
from orders.planning.season_course import RowVisit, SeasonRow
from orders.sites.season_facts import closed_days
from orders.sites.selectors import closures

Closures = dict[int, list[Span]]  # by site


def closures_of(season: Season) -> Closures:
    """Days on which sites are closed, to all work or to some methods; yearly ones in each year."""
    found: Closures = defaultdict(list)
    for row in closures().filter(first_day__lte=season.last_day):
        found[row.site_id] += [(days.first, days.last) for days in closed_days(row, season.first_day, season.last_day)]
    return {site: sorted(spans) for site, spans in found.items()}


def lanes_by(by: str, rows: Sequence[SeasonRow], season: Season) -> list[tuple[Lane, list[SeasonRow]]]:
    """Each lane with the rows that it shows, in order."""
    return LANES_BY[by](rows, closures_of(season))


def _by_site(rows: Sequence[SeasonRow], closed: Closures) -> list[tuple[Lane, list[SeasonRow]]]:
    grouped = _grouped(rows, lambda row: row.site.pk)
    named = [(f"{part[0].site.code} {part[0].site.name}", closed.get(site, ()), part) for site, part in grouped]
    return [(_lane(name, part, spans), part) for name, spans, part in named]


def _by_patch(rows: Sequence[SeasonRow], closed: Closures) -> list[tuple[Lane, list[SeasonRow]]]:
    """Within one site the site is not named."""
    alone = len({row.site.pk for row in rows}) == 1
    named = [row.patch.code if alone else str(row.patch) for row in rows]
    return [
        (_lane(f"{name} {row.method.name}", [row], closed.get(row.site.pk, ())), [row])
        for name, row in zip(named, rows, strict=True)
    ]


def _by_crew(rows: Sequence[SeasonRow], closed: Closures) -> list[tuple[Lane, list[SeasonRow]]]:
    """What each crew has a visit for; rows without a visit stand last."""
    crews = {visit.crew.pk: visit.crew for row in rows for visit in row.visits}
    lanes = []
    for crew in sorted(crews.values(), key=lambda one: one.name):
        served = [row for row in rows if crew.pk in {visit.crew.pk for visit in row.visits}]
        lanes.append((_lane(crew.name, served, crew=crew), served))
    if unserved := [row for row in rows if not row.visits]:
        lanes.append((_lane("No crew yet", unserved), unserved))
    return lanes


LANES_BY: dict[str, Callable[[Sequence[SeasonRow], Closures], list[tuple[Lane, list[SeasonRow]]]]] = {
    "site": _by_site,
    "crew": _by_crew,
    "patch": _by_patch,
}


def _grouped(rows: Iterable[SeasonRow], key: Callable[[SeasonRow], int]) -> list[tuple[int, list[SeasonRow]]]:
    found: dict[int, list[SeasonRow]] = defaultdict(list)
    for row in rows:
        found[key(row)].append(row)
    return list(found.items())


def _lane(label: str, rows: Sequence[SeasonRow], closed: Sequence[Span] = (), crew: Crew | None = None) -> Lane:
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
