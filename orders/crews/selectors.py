"""Reads of crews: who, with which qualifications, on which days, at which standard rates."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.crews.models import Absence, Crew, CrewMembership, Person, Qualification, StandardRate
from orders.sites.models import Jurisdiction


def crew_people(crew: Crew, on: date) -> list[Person]:
    """Who is on the crew that day, leads first; a person who is away that day is still on the crew."""
    members = (
        CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=on), crew=crew, first_day__lte=on)
        .filter(person__is_active=True)
        .select_related("person__role", "person__user")
        .order_by("-is_lead", "person__name", "person_id")
    )
    return [member.person for member in members]


def crew_skills(crew: Crew, on: date, jurisdiction: Jurisdiction) -> frozenset[str]:
    """Codes of the qualifications that somebody on the crew holds on that day and that hold in that jurisdiction."""
    held = Qualification.objects.filter(
        Q(jurisdiction__isnull=True) | Q(jurisdiction=jurisdiction),
        person__in=crew_people(crew, on),
        first_day__lte=on,
        last_day__gte=on,
    )
    return frozenset(held.order_by().values_list("kind__code", flat=True))


def crew_days_off(crew: Crew, first: date, last: date) -> frozenset[date]:
    """Days from first to last on which the crew does not work: its weekdays off, holidays, and everybody away."""
    off = {day for day in _days(first, last) if crew.works_weekdays[day.weekday()] == "0"}
    away = Absence.objects.filter(first_day__lte=last, last_day__gte=first).order_by("first_day", "id")
    off |= _covered(away.filter(crew=crew), first, last)
    return frozenset(off | _everybody_away(crew, first, last))


def _everybody_away(crew: Crew, first: date, last: date) -> set[date]:
    """Days on which no member is left, and days on which the crew has no member at all."""
    present: set[date] = set()
    members = CrewMembership.objects.filter(
        Q(last_day__isnull=True) | Q(last_day__gte=first), crew=crew, first_day__lte=last, person__is_active=True
    )
    for member in members.order_by("id").prefetch_related("person__absences"):
        days = set(_days(max(first, member.first_day), min(last, member.last_day or last)))
        present |= days - _covered(member.person.absences.all(), first, last)
    return set(_days(first, last)) - present


def _covered(absences: Iterable[Absence], first: date, last: date) -> set[date]:
    return {day for away in absences for day in _days(max(first, away.first_day), min(last, away.last_day))}


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=number) for number in range((last - first).days + 1))


def standard_rates(on: date) -> dict[str, int]:
    """Fully burdened rate by role code on that day, in 1/10,000 dollars an hour."""
    rates = StandardRate.objects.filter(from_day__lte=on).order_by("role_id", "from_day")
    return {rate.role.code: rate.rate_e4 for rate in rates.select_related("role")}


def memberships_of(user: User, on: date) -> list[CrewMembership]:
    """The crews that the user's own person is on that day."""
    members = CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=on), first_day__lte=on)
    return list(members.filter(person__user=user).select_related("crew").order_by("crew__name", "id"))


def crews(on: date) -> QuerySet[Crew]:
    """All crews, each with its members of that day as `members_today`."""
    members = CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=on), first_day__lte=on)
    listed = members.select_related("person__role").order_by("-is_lead", "person__name", "id")
    return Crew.objects.prefetch_related(Prefetch("memberships", queryset=listed, to_attr="members_today")).order_by(
        "name"
    )


def crew_get(crew_id: UUID) -> Crew:
    found = Crew.objects.filter(public_id=crew_id).first()
    if found is None:
        raise NotFound("There is no such crew.")
    return found


def people() -> QuerySet[Person]:
    """Everybody, with what they may do; what they are paid is not here."""
    held = Qualification.objects.select_related("kind", "jurisdiction", "supervised_by").order_by("kind__code", "-id")
    return (
        Person.objects.select_related("role")
        .prefetch_related(Prefetch("qualifications", queryset=held))
        .order_by("name", "id")
    )


def person_get(person_id: UUID) -> Person:
    found = people().filter(public_id=person_id).first()
    if found is None:
        raise NotFound("There is no such person.")
    return found


def people_on(rows: QuerySet[Person], crew_id: UUID, on: date) -> QuerySet[Person]:
    """Those of the people who are on a crew that day."""
    members = CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=on), first_day__lte=on)
    return rows.filter(pk__in=members.filter(crew__public_id=crew_id).order_by().values("person"))
