"""Reads of crews: who, with which qualifications, on which days, at which standard rates."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import TypeVar
from uuid import UUID

from django.db.models import Count, Model, Prefetch, Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.crews.models import (
    Absence,
    Crew,
    CrewMembership,
    LaborRole,
    Person,
    Qualification,
    QualificationKind,
    StandardRate,
)
from orders.sites.models import Jurisdiction

Found = TypeVar("Found", bound=Model)


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
    return frozenset(_days(first, last)) - crew_presence([crew], first, last)[crew.pk].keys()


def crew_presence(crews: Sequence[Crew], first: date, last: date) -> dict[int, dict[date, int]]:
    """How many people of each crew (by its key) are there on each day; days on which it does not work are left out."""
    away = Absence.objects.filter(first_day__lte=last, last_day__gte=first, crew__in=crews).order_by("first_day", "id")
    members = CrewMembership.objects.filter(
        Q(last_day__isnull=True) | Q(last_day__gte=first), crew__in=crews, first_day__lte=last, person__is_active=True
    )
    held = list(members.order_by("id").prefetch_related("person__absences"))
    crew_away = list(away)
    return {
        crew.pk: _present(
            crew,
            [member for member in held if member.crew_id == crew.pk],
            [absence for absence in crew_away if absence.crew_id == crew.pk],
            (first, last),
        )
        for crew in crews
    }


def _present(
    crew: Crew, members: Iterable[CrewMembership], away: Iterable[Absence], span: tuple[date, date]
) -> dict[date, int]:
    """By day; a person counts once, however often on the crew."""
    first, last = span
    there: dict[date, set[int]] = defaultdict(set)
    for member in members:
        days = set(_days(max(first, member.first_day), min(last, member.last_day or last)))
        for day in days - _covered(member.person.absences.all(), first, last):
            there[day].add(member.person_id)
    off = _covered(away, first, last)
    works = [day for day in sorted(there) if day not in off and crew.works_weekdays[day.weekday()] != "0"]
    return {day: len(there[day]) for day in works}


def _covered(absences: Iterable[Absence], first: date, last: date) -> set[date]:
    return {day for away in absences for day in _days(max(first, away.first_day), min(last, away.last_day))}


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=number) for number in range((last - first).days + 1))


def standard_rates(on: date) -> dict[str, int]:
    """Fully burdened rate by role code on that day, in 1/10,000 dollars an hour."""
    rates = StandardRate.objects.filter(from_day__lte=on).order_by("role_id", "from_day")
    return {rate.role.code: rate.rate_e4 for rate in rates.select_related("role")}


def labor_roles() -> QuerySet[LaborRole]:
    return LaborRole.objects.order_by("name")


def labor_role_by_code(code: str) -> LaborRole:
    found = LaborRole.objects.filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no role {code}.")
    return found


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


def crew_by_name(name: str) -> Crew:
    found = Crew.objects.filter(name=name).first()
    if found is None:
        raise NotFound(f"There is no crew {name}.")
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


def labor_role_get(role_id: UUID) -> LaborRole:
    return _one(LaborRole.objects.all(), role_id, "role")


def standard_rates_set() -> QuerySet[StandardRate]:
    """Every standard rate, the newest of each role first."""
    return StandardRate.objects.select_related("role").order_by("role__name", "-from_day", "id")


def qualification_kinds() -> QuerySet[QualificationKind]:
    return QualificationKind.objects.order_by("name", "id")


def qualification_kind_get(kind_id: UUID) -> QualificationKind:
    return _one(qualification_kinds(), kind_id, "kind of qualification")


def qualification_kind_by_code(code: str) -> QualificationKind:
    found = QualificationKind.objects.filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no kind of qualification {code}.")
    return found


def qualification_get(qualification_id: UUID) -> Qualification:
    rows = Qualification.objects.select_related("person", "kind", "jurisdiction", "supervised_by")
    return _one(rows, qualification_id, "qualification")


def members() -> QuerySet[CrewMembership]:
    """Who was on which crew from when to when."""
    return CrewMembership.objects.select_related("crew", "person__role").order_by("crew__name", "first_day", "id")


def member_get(member_id: UUID) -> CrewMembership:
    return _one(members(), member_id, "membership")


def absences() -> QuerySet[Absence]:
    return Absence.objects.select_related("crew", "person").order_by("first_day", "id")


def absence_get(absence_id: UUID) -> Absence:
    return _one(absences(), absence_id, "absence")


def _one(rows: QuerySet[Found], row_id: UUID, name: str) -> Found:
    found = rows.filter(public_id=row_id).first()
    if found is None:
        raise NotFound(f"There is no such {name}.")
    return found


def people_all() -> QuerySet[Person]:
    return Person.objects.select_related("role").order_by("name", "id")


def people_free(on: date) -> QuerySet[Person]:
    """Who is in use and on no crew that day."""
    there = members().filter(Q(last_day__isnull=True) | Q(last_day__gte=on), first_day__lte=on)
    return people_all().filter(is_active=True).exclude(pk__in=there.values("person"))


def crews_all() -> QuerySet[Crew]:
    return Crew.objects.order_by("name")


def logins_free(person: Person | None = None) -> QuerySet[User]:
    """Logins of no other person."""
    free = Q(person__isnull=True) if person is None else Q(person__isnull=True) | Q(person=person)
    return User.objects.filter(free, is_active=True).order_by("username")


def stays(first: date, last: date) -> QuerySet[CrewMembership]:
    """Who is on which crew on some day of the span; people and crews that are in use."""
    return members().filter(
        Q(last_day__isnull=True) | Q(last_day__gte=first),
        first_day__lte=last,
        person__is_active=True,
        crew__is_active=True,
    )


def qualifications_between(first: date, last: date) -> QuerySet[Qualification]:
    """What people in use may do on some day of the span."""
    return (
        Qualification.objects.filter(first_day__lte=last, last_day__gte=first, person__is_active=True)
        .select_related("person", "kind", "jurisdiction", "supervised_by")
        .order_by("person__name", "kind__name", "first_day", "id")
    )


def qualifications_of(person: Person, *, supervised: bool = False) -> QuerySet[Qualification]:
    """What a person may do, the newest first; or what others may do under this person's supervision."""
    whose = {"supervised_by": person} if supervised else {"person": person}
    rows = Qualification.objects.filter(**whose).select_related("person", "kind", "jurisdiction", "supervised_by")
    return rows.order_by("-last_day", "kind__name", "id")


def roles_counted() -> QuerySet[LaborRole]:
    """Labor roles, with how many people in use have each as `people_count`."""
    return LaborRole.objects.annotate(people_count=Count("people", filter=Q(people__is_active=True)))


def kinds_counted(on: date) -> QuerySet[QualificationKind]:
    """Kinds, with how many people in use hold each on that day as `held_count`."""
    held = Q(holders__first_day__lte=on, holders__last_day__gte=on, holders__person__is_active=True)
    return QualificationKind.objects.annotate(held_count=Count("holders__person", filter=held, distinct=True))


def people_without_login() -> QuerySet[Person]:
    return people_all().filter(user__isnull=True, is_active=True)


def people_of_users() -> dict[int, str]:
    """The name of the person behind each login, by the login's key."""
    return dict(Person.objects.filter(user__isnull=False).values_list("user_id", "name"))
