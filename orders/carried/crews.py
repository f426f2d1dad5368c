"""Who is on the crews, what each may do, and under whose supervision."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from django.db.models import Prefetch

from orders.carried.scope import on_days
from orders.crews.models import Crew, CrewMembership, Person, Qualification
from orders.field.models import FieldPolicy
from orders.supplies.models import VolunteerPermit
from orders.workorders.who_may import years_old

DAYS_BACK = 14  # days that may still have to be closed


def crews_shown(today: date, crews: Sequence[Crew], policy: FieldPolicy) -> list[dict[str, Any]]:
    first = today - timedelta(days=DAYS_BACK)
    held = Qualification.objects.filter(last_day__gte=first).select_related("kind", "jurisdiction", "supervised_by")
    permits = VolunteerPermit.objects.filter(last_day__gte=first).prefetch_related("products", "sites")
    rows = on_days(CrewMembership.objects.filter(crew__in=crews), first, date.max)
    members = list(
        rows.select_related("person")
        .prefetch_related(
            Prefetch("person__qualifications", queryset=held.order_by("kind__code", "id")),
            Prefetch("person__volunteer_permits", queryset=permits.order_by("last_day", "id")),
        )
        .order_by("-is_lead", "person__name", "id")
    )
    return [_crew(crew, [row for row in members if row.crew_id == crew.pk], today, policy) for crew in crews]


def _crew(crew: Crew, members: Iterable[CrewMembership], today: date, policy: FieldPolicy) -> dict[str, Any]:
    return {
        "id": str(crew.public_id),
        "name": crew.name,
        "members": [_member(row, today, policy) for row in members],
    }


def _member(row: CrewMembership, today: date, policy: FieldPolicy) -> dict[str, Any]:
    person = row.person
    return {
        "person": str(person.public_id),
        "name": person.name,
        "is_lead": row.is_lead,
        "of_age": _of_age(person, today, policy),
        "first_day": row.first_day.isoformat(),
        "last_day": row.last_day.isoformat() if row.last_day else None,
        "qualifications": [_qualification(held) for held in person.qualifications.all()],
        "permits": [_permit(permit) for permit in person.volunteer_permits.all()],
    }


def _of_age(person: Person, today: date, policy: FieldPolicy) -> bool | None:
    """None where no day of birth is on record: the lead answers for it. The day itself does not leave the office."""
    return None if person.born_on is None else years_old(person.born_on, today) >= policy.least_age


def _qualification(held: Qualification) -> dict[str, Any]:
    supervisor = held.supervised_by
    return {
        "kind": held.kind.code,
        "name": held.kind.name,
        "is_license": held.kind.is_license,
        "jurisdiction": held.jurisdiction.code if held.jurisdiction else None,
        "number": held.number,
        "category": held.category,
        "first_day": held.first_day.isoformat(),
        "last_day": held.last_day.isoformat(),
        "supervised_by": str(supervisor.public_id) if supervisor else None,
        "supervised_by_name": supervisor.name if supervisor else "",
    }


def _permit(permit: VolunteerPermit) -> dict[str, Any]:
    return {
        "products": sorted(product.code for product in permit.products.all()),
        "sites": sorted(str(site.public_id) for site in permit.sites.all()),
        "first_day": permit.first_day.isoformat(),
        "last_day": permit.last_day.isoformat(),
    }
