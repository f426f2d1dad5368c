"""Windows that close while work is still to do."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

from django.db.models import Max, Min, Q

from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.planning.models import Prescription
from orders.reminders.convert.facts import ids_of, since
from orders.reminders.models import Deadline
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text
from orders.workorders.selectors import outcomes_standing

TO_DO = ("open", "planned", "ordered")


def windows_closing(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each prescription with work still to do, and for those that had one."""
    wanted = Q(state__in=TO_DO, last_day__gte=since(stamp)) | Q(pk__in=ids_of(rows, "prescription"))
    asked = list(
        Prescription.objects.filter(wanted)
        .select_related("patch__site", "method", "season")
        .defer("patch__site__boundary")
        .order_by("id")
    )
    known = {row.prescription_id: row.known_at for row in rows}
    made = _made_at([one for one in asked if one.pk not in known])
    done = _done_on([one for one in asked if one.state == "done"])
    for one in asked:
        yield _owed(one, known.get(one.pk) or made.get(one.pk), done.get(one.pk))


def _owed(asked: Prescription, known_at: datetime | None, done_on: date | None) -> Owed:
    site = asked.patch.site
    closes = day_text(asked.last_day)
    is_done = asked.state == "done"
    return Owed(
        key=Key("window", str(asked.public_id), asked.last_day.isoformat()),
        title=f"{asked.method.name}, {site.code} {asked.patch.code}",
        due_on=asked.last_day,
        because=f"{asked.season}: the window closes on {closes}. {asked.window_because}",
        refs={"site_id": site.pk, "patch_id": asked.patch_id, "prescription_id": asked.pk},
        time_zone=site.time_zone,
        known_at=known_at,
        done_on=(done_on or asked.last_day) if is_done else None,
        gone="The prescription was dropped." if asked.state == "dropped" else "",
    )


def _made_at(asked: Iterable[Prescription]) -> dict[int, datetime]:
    """When each came to be, by the change record."""
    by_id = {one.public_id: one.pk for one in asked}
    first = Change.objects.filter(entity="prescription", entity_id__in=list(by_id)).order_by()
    return {by_id[key]: at for key, at in first.values_list("entity_id").annotate(Min("at"))}


def _done_on(asked: Iterable[Prescription]) -> dict[int, date]:
    """The last day of work, as the standing close-outs state it."""
    stated = outcomes_standing().filter(prescription__in=[one.pk for one in asked]).order_by()
    return dict(stated.values_list("prescription_id").annotate(Max("close_out__work_date")))
