"""Which fields a record of these uses must hold: what the rule requires, and what it asks for where that applies."""

from collections.abc import Callable

from orders.crews.models import Qualification
from orders.workorders.models import RecordProfile
from orders.workorders.records.groups import RecordGroup
from orders.workorders.who_may import CERTIFIED


def _is_diluted(group: RecordGroup) -> bool:
    return group.batch.carrier_ul > 0


def _always(group: RecordGroup) -> bool:
    return True


def _not_certified(group: RecordGroup) -> bool:
    return bool(people_not_certified(group))


# Others stay with the applicator's judgment: nothing here tells whether weather mattered, or what else a label asks.
APPLIES: dict[str, Callable[[RecordGroup], bool]] = {
    "location": _always,
    "area_treated": _always,
    "end_time": _always,
    "applicator": _always,
    "equipment": _always,
    "rate": _is_diluted,
    "noncertified_applicator": _not_certified,
}


def fields_wanted(profile: RecordProfile, group: RecordGroup) -> list[str]:
    where = [code for code in profile.if_applicable if code in APPLIES and APPLIES[code](group)]
    return [*profile.required, *where]


def certificates(group: RecordGroup) -> dict[int, Qualification]:
    """By person: the certificate that held there on that day."""
    people = {group.key.responsible_id, *(row.person_id for use in group.applications for row in use.people.all())}
    held = Qualification.objects.filter(person__in=people, kind__code=CERTIFIED, jurisdiction=group.site.jurisdiction)
    in_force = held.filter(first_day__lte=group.work_date, last_day__gte=group.work_date)
    return {row.person_id: row for row in in_force.order_by("id")}


def people_not_certified(group: RecordGroup) -> list[str]:
    """Names of those who applied without a certificate of their own."""
    certified = certificates(group)
    applied = {row.person_id: row.person.name for use in group.applications for row in use.people.all()}
    return sorted(name for key, name in applied.items() if key not in certified)
