"""Crews as the planner sees them: their days, people, hours, skills and cost."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction

from estimating.plan import CrewSupply
from estimating.pricing import blended_rate_e4, to_cents
from orders.common.errors import FieldError, Invalid
from orders.crews.models import Crew, CrewMembership, Person, Qualification
from orders.crews.selectors import crew_people, crew_presence, standard_rates
from orders.planning.models import Season, VisitShare
from orders.planning.what_if import WhatIf
from orders.sites.models import Jurisdiction, Site

HOURS_PER_DAY = 24.0
SATURDAY = 5  # Monday is 0


@dataclass
class Taken:
    """Person-hours on a crew's day, and the minutes of the drive to each site and back."""

    hours: float = 0.0
    drive_minutes: dict[int, int] = field(default_factory=dict)

    def of(self, people: int) -> float:
        """Person-hours with the drive."""
        return self.hours + people * sum(self.drive_minutes.values()) / 60


def skill_at(code: str, site: Site) -> str:
    """A license holds in its own jurisdiction, so the planner's skill names both."""
    return f"{code}@{site.jurisdiction.code}"


@dataclass(frozen=True)
class PaidDay:
    """A standard day: the hours that are paid, and those that briefing, set-up, breaks and allowance leave."""

    paid_hours: float
    net_hours: float

    @property
    def paid_per_net_hour(self) -> Fraction:
        return Fraction(self.paid_hours) / Fraction(self.net_hours)


def crew_supplies(season: Season, crews: Sequence[Crew], day: PaidDay, needed: Iterable[int]) -> list[CrewSupply]:
    """The crews that work in the season, and those whose visits stand (`needed`, by key), with days off throughout."""
    there = crew_presence(crews, season.first_day, season.last_day)
    held, taken = _skills_by_day(season, crews), _taken(season)
    kept = set(needed)
    return [
        _supply(season, crew, there[crew.pk] if crew.is_active else {}, held[crew.pk], taken[crew.pk], day)
        for crew in crews
        if crew.pk in kept or (crew.is_active and there[crew.pk])
    ]


def _supply(
    season: Season,
    crew: Crew,
    there: dict[date, int],
    held: dict[date, frozenset[str]],
    taken: dict[date, Taken],
    standard: PaidDay,
) -> CrewSupply:
    """`people` are as many as on most of its days; a day with fewer or more has other hours in proportion, and one on
    which another season has the crew what that leaves."""
    counts = Counter(there.values())
    people = max(counts, key=lambda count: (counts[count], count), default=1)
    hours = min(float(crew.hours_a_day), standard.net_hours)
    skills = frozenset[str]().union(*(held.get(day, frozenset()) for day in there))
    return CrewSupply(
        id=crew.name,
        people=people,
        hours_a_day=hours,
        skills=skills,
        days_off=frozenset(_days(season.first_day, season.last_day)) - there.keys(),
        other_hours=tuple(
            (day, min(HOURS_PER_DAY, max(0.0, hours * count - taken.get(day, Taken()).of(count)) / people))
            for day, count in there.items()
            if count != people or day in taken
        ),
        skills_away=tuple((day, away) for day in there if (away := skills - held.get(day, frozenset()))),
        cost_cents_per_hour=_cost_cents_per_hour(crew, min(there, default=season.first_day), standard),
    )


def _taken(season: Season) -> dict[int, dict[date, Taken]]:
    """By crew and day: what the standing visits of other seasons take."""
    rows = VisitShare.objects.filter(
        visit__day__range=(season.first_day, season.last_day), visit__state__in=["planned", "ordered", "done"]
    ).exclude(visit__season=season)
    named = ("visit__crew_id", "visit__day", "visit__site_id", "visit__site__drive_minutes", "planned_hours")
    found: dict[int, dict[date, Taken]] = defaultdict(lambda: defaultdict(Taken))
    for crew_id, day, site_id, drive_minutes, hours in rows.order_by("id").values_list(*named):
        there = found[crew_id][day]
        there.hours += hours
        there.drive_minutes[site_id] = 2 * drive_minutes
    return found


def _cost_cents_per_hour(crew: Crew, on: date, standard: PaidDay) -> int:
    """The crew's average standard rate, for an hour of work or drive with its part of what else is paid of the day.
    What each person is paid stays with finance."""
    counts = Counter(person.role.code for person in crew_people(crew, on))
    listed = standard_rates(on)
    if not counts:
        return 0
    rate_e4 = blended_rate_e4(counts, {role: listed.get(role, 0) for role in counts})
    return to_cents(rate_e4 * standard.paid_per_net_hour / 10_000)


def _skills_by_day(season: Season, crews: Sequence[Crew]) -> dict[int, dict[date, frozenset[str]]]:
    """By crew and day: what somebody who is there may do. A license whose holder is away that day is not there."""
    members = CrewMembership.objects.filter(
        crew__in=crews, first_day__lte=season.last_day, person__is_active=True
    ).prefetch_related("person__absences", "person__qualifications__kind", "person__qualifications__jurisdiction")
    jurisdictions = [place.code for place in Jurisdiction.objects.order_by("code")]
    found: dict[int, dict[date, frozenset[str]]] = defaultdict(lambda: defaultdict(frozenset))
    for member in members.order_by("id"):
        away = {day for absence in member.person.absences.all() for day in _days(absence.first_day, absence.last_day)}
        for held in member.person.qualifications.all():
            skills = frozenset(_skills_of(held, jurisdictions))
            last = min(held.last_day, season.last_day, member.last_day or held.last_day)
            for day in _days(max(held.first_day, season.first_day, member.first_day), last):
                if day not in away:
                    found[member.crew_id][day] |= skills
    return found


def _skills_of(held: Qualification, jurisdictions: Iterable[str]) -> Iterator[str]:
    for place in jurisdictions if held.jurisdiction is None else [held.jurisdiction.code]:
        yield f"{held.kind.code}@{place}"


def present_people(crew: Crew, day: date) -> list[Person]:
    """Who of the crew is there on a day."""
    return [
        person
        for person in crew_people(crew, day)
        if not person.absences.filter(first_day__lte=day, last_day__gte=day).exists()
    ]


def crews_asked(what: WhatIf) -> list[Crew]:
    """All crews, with Saturdays worked where a what-if says so; the rows themselves stay as they are."""
    crews = list(Crew.objects.order_by("name"))
    if what.saturdays:
        for crew in crews:
            crew.works_weekdays = f"{crew.works_weekdays[:SATURDAY]}1{crew.works_weekdays[SATURDAY + 1 :]}"
    return crews


def extra_crews(supplies: Sequence[CrewSupply], what: WhatIf, crews: Sequence[Crew]) -> list[CrewSupply]:
    """Copies of a crew, or of the one that gives the most person-hours a day."""
    if not what.extra_crews:
        return []
    named = {crew.name for crew in crews if what.like_crew in (None, crew.public_id)}
    alike = [supply for supply in supplies if supply.id in named]
    if not alike:
        raise Invalid("There is no such crew to copy.", [FieldError("like_crew", "is no crew that works this season")])
    model = max(alike, key=lambda supply: supply.day_hours)
    numbers = [""] if what.extra_crews == 1 else [f" {number}" for number in range(1, what.extra_crews + 1)]
    return [replace(model, id=f"{model.id} (what if{number})") for number in numbers]


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=number) for number in range((last - first).days + 1))
