"""Licenses and training that run out."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from datetime import date, timedelta

from django.db.models import Q

from orders.common.stamp import Stamp
from orders.crews.models import Qualification
from orders.reminders.convert.facts import ahead, ids_of, program_zone, since
from orders.reminders.models import Deadline
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text

Of = tuple[int, int, int | None]  # person, kind, jurisdiction


def licenses_expiring(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each last day of an active person's qualification that is near or lately over."""
    wanted = Q(last_day__range=(since(stamp), ahead(stamp))) | Q(pk__in=ids_of(rows, "qualification"))
    related = ("person", "kind", "jurisdiction")
    found = list(Qualification.objects.filter(wanted, person__is_active=True).select_related(*related).order_by("id"))
    renewals = _renewals({one.person_id for one in found})
    for one in found:
        yield _owed(one, _renewed_on(one, renewals[_of(one)]))


def _of(one: Qualification) -> Of:
    return one.person_id, one.kind_id, one.jurisdiction_id


def _renewals(person_ids: Collection[int]) -> dict[Of, list[tuple[date, date]]]:
    """First and last day of all that those people hold."""
    held: dict[Of, list[tuple[date, date]]] = defaultdict(list)
    for one in Qualification.objects.filter(person__in=person_ids).order_by("first_day", "id"):
        held[_of(one)].append((one.first_day, one.last_day))
    return held


def _renewed_on(one: Qualification, held: Sequence[tuple[date, date]]) -> date | None:
    """When the next one of the same kind began; one that follows without a gap counts as in time."""
    later = min((first for first, last in held if last > one.last_day), default=None)
    if later is None:
        return None
    return one.last_day if later <= one.last_day + timedelta(days=1) else later


def _owed(one: Qualification, renewed_on: date | None) -> Owed:
    where = f" ({one.jurisdiction.code})" if one.jurisdiction else ""
    numbered = f", number {one.number}" if one.number else ""
    return Owed(
        key=Key("license", str(one.public_id), one.last_day.isoformat()),
        title=f"{one.kind.name}{where}, {one.person.name}",
        due_on=one.last_day,
        because=f"{one.kind.name}{where}{numbered} runs to {day_text(one.last_day)}.",
        refs={"qualification_id": one.pk},
        time_zone=program_zone(),
        done_on=renewed_on,
    )
