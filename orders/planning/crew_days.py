"""What each crew has to do day by day, against what the day leaves for work and drive."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from orders.crews.models import Crew
from orders.crews.selectors import crew_presence
from orders.planning.models import Visit
from orders.planning.season_course import STANDING_VISITS, net_hours_usual

SLACK_HOURS = 0.05


@dataclass(frozen=True)
class CrewDay:
    """`people` are there that day; hours hold the drives, once for each site."""

    people: int
    hours: float
    capacity_hours: float

    @property
    def is_over(self) -> bool:
        return self.hours > self.capacity_hours + SLACK_HOURS


def crew_days(
    crews: Iterable[Crew], visits: Iterable[Visit], first: date, last: date
) -> Mapping[tuple[int, date], CrewDay]:
    """By crew and day, for the days on which somebody is there or something stands. `visits` come with their shares."""
    listed = list(crews)
    there = crew_presence(listed, first, last)
    work: dict[tuple[int, date], list[Visit]] = defaultdict(list)
    for visit in visits:
        if visit.state in STANDING_VISITS:
            work[visit.crew_id, visit.day].append(visit)
    net_hours = net_hours_usual()
    found = {}
    for crew in listed:
        a_day = min(float(crew.hours_a_day), net_hours)
        for day in {*there[crew.pk], *(on for key, on in work if key == crew.pk)}:
            people = there[crew.pk].get(day, 0)
            found[crew.pk, day] = CrewDay(people, _hours(work[crew.pk, day], people), people * a_day)
    return found


def _hours(held: Iterable[Visit], people: int) -> float:
    listed = list(held)
    minutes = {visit.site_id: 2 * visit.site.drive_minutes for visit in listed}
    planned = sum(share.planned_hours for visit in listed for share in visit.shares.all())
    return planned + people * sum(minutes.values()) / 60
