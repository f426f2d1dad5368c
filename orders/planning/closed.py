"""Days on which a site is closed to all work or to a method, within a season."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from orders.planning.models import Prescription, Season
from orders.planning.ways import Way
from orders.sites.models import Site
from orders.sites.season_facts import closed_days
from orders.sites.selectors import closures


class SeasonClosures:
    """The closures of a season, read once."""

    def __init__(self, season: Season) -> None:
        self.season = season
        self.sites: dict[int, set[date]] = defaultdict(set)
        self.methods: dict[tuple[int, str], set[date]] = defaultdict(set)
        for row in closures().filter(first_day__lte=season.last_day):
            spans = closed_days(row, season.first_day, season.last_day)
            days = {day for span in spans for day in self.within(span.first, span.last)}
            if not row.methods:
                self.sites[row.site_id] |= days
            for code in row.methods:
                self.methods[row.site_id, code] |= days

    def within(self, first: date, last: date) -> Iterator[date]:
        """The days of the season from first to last."""
        start, end = max(first, self.season.first_day), min(last, self.season.last_day)
        return (start + timedelta(days=number) for number in range((end - start).days + 1))

    def of_site(self, site: Site) -> frozenset[date]:
        return frozenset(self.sites[site.pk])

    def of_method(self, site: Site, code: str) -> frozenset[date]:
        """Closed to a method alone or to all."""
        return frozenset(self.sites[site.pk] | self.methods[site.pk, code])

    def has_own(self, site_id: int, code: str) -> bool:
        """Whether a closure keeps out this method."""
        return bool(self.methods[site_id, code])

    def longest_open(self, asked: Prescription, way: Way) -> tuple[date, date] | None:
        """The longest run of days of its window that no closure takes."""
        closed = self.of_method(asked.patch.site, way.method.code)
        runs: list[list[date]] = [[]]
        for day in self.within(way.first_day, way.last_day):
            if day in closed:
                runs.append([])
            else:
                runs[-1].append(day)
        longest = max(runs, key=len)
        return (longest[0], longest[-1]) if longest else None
