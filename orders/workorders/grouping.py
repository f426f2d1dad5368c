"""Which visits go on one order: one crew, one site, one week."""

from collections import defaultdict
from collections.abc import Iterable

from orders.planning.models import Visit


def visits_by_order(visits: Iterable[Visit]) -> list[list[Visit]]:
    """Groups in the order of their first day. A week is a sheet of paper: longer orders grow stale in the truck."""
    groups: dict[tuple[int, int, int, int], list[Visit]] = defaultdict(list)
    for visit in sorted(visits, key=lambda visit: (visit.day, visit.pk)):
        year, week, _ = visit.day.isocalendar()
        groups[visit.crew_id, visit.site_id, year, week].append(visit)
    return sorted(groups.values(), key=lambda group: (group[0].day, group[0].pk))
