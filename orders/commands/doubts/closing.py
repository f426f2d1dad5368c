"""What a close-out says that a person should look at: hours, stock, and who did the work."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from orders.commands.doubts.material import material_doubts
from orders.commands.doubts.people import age_doubts, lone_doubts, skill_doubts, uses_saws
from orders.commands.doubts.time import day_doubts
from orders.commands.heard import Heard
from orders.commands.raising import CHEMICALS, Raiser
from orders.crews.models import Person
from orders.planning.models import Prescription
from orders.supplies.selectors import lot_amount
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.records.states import order_record_state
from orders.workorders.selectors import order_shares

# Our own figure (invented): beyond it the tablet asks, and the desk is told.
TIMES_OFF = 2.0
NO_WORK = ("drive", "rain")


@dataclass
class Worked:
    """Who worked on what on one day."""

    people: dict[int, Person] = field(default_factory=dict)
    prescriptions: dict[int, Prescription] = field(default_factory=dict)


def close_doubts(heard: Heard, close_out: CloseOut) -> None:
    order = close_out.order
    raiser = Raiser(heard, order=order)
    _hours(raiser, close_out)
    _stock(raiser, close_out)
    material_doubts(raiser, close_out)
    record_doubts(raiser, order)
    for day, worked in sorted(_worked(close_out).items()):
        _who(heard, order, day, worked)
    for person, day in _person_days(close_out):
        day_doubts(heard, person, day)


def _hours(raiser: Raiser, close_out: CloseOut) -> None:
    order = close_out.order
    likely = sum(
        share.prescription.estimate.paid_person_hours * share.prescription.share_left * share.share
        for share in order_shares(order)
    )
    stated = sum(entry.minutes for entry in close_out.time_entries.all()) / 60
    if likely and not likely / TIMES_OFF <= stated <= likely * TIMES_OFF:
        title = f"{order} took {stated:.1f} hours; {likely:.1f} were estimated"
        raiser.note(f"{close_out.public_id}", "hours_differ", title, data={"stated": stated, "estimated": likely})


def _stock(raiser: Raiser, close_out: CloseOut) -> None:
    for use in close_out.material_uses.select_related("lot__product").order_by("lot_id", "id"):
        if lot_amount(use.lot) < 0:
            title = f"More was used of {use.lot} than was in stock: count it"
            raiser.note(f"{use.lot.public_id}:{close_out.public_id}", "stock_below_zero", title)


def record_doubts(raiser: Raiser, order: WorkOrder) -> None:
    """The order is closed all the same; the clock of the record runs on until it is complete."""
    records = order_record_state(order)
    if not records.is_open:
        raiser.no_more(f"{order.public_id}", "record_incomplete")
    elif order.state == "closed":
        title = f"{order} is closed, and its application record is not complete. Due on {records.due_on}"
        raiser.note(f"{order.public_id}", "record_incomplete", title, roles=CHEMICALS)


def _worked(close_out: CloseOut) -> dict[date, Worked]:
    """Where the crew did not keep the patches apart, everybody worked on all of the visit's."""
    served: dict[int, list[Prescription]] = defaultdict(list)
    for share in order_shares(close_out.order):
        served[share.visit_id].append(share.prescription)
    found: dict[date, Worked] = defaultdict(Worked)
    for entry in close_out.time_entries.exclude(step__in=NO_WORK).select_related("person"):
        day = found[entry.work_date]
        day.people[entry.person_id] = entry.person
        for asked in served[entry.visit_id]:
            if entry.prescription_id in {None, asked.pk}:
                day.prescriptions[asked.pk] = asked
    return found


def _who(heard: Heard, order: WorkOrder, day: date, worked: Worked) -> None:
    people, asked = list(worked.people.values()), list(worked.prescriptions.values())
    raiser = Raiser(heard, order=order)
    key = f"{order.public_id}:{day}"
    is_chemical = any(row.method.uses_herbicide for row in asked)
    if is_chemical:
        age_doubts(raiser, people, day, key, "herbicide")
        lone_doubts(raiser, people, order.site, day, saws=False)
    if uses_saws(asked):
        age_doubts(raiser, people, day, key, "saws")
        lone_doubts(raiser, people, order.site, day, saws=True)
    is_told = order.applications.exists()  # then each person who held the sprayer was looked at
    for method in {row.method_id: row.method for row in asked}.values():
        if not (method.uses_herbicide and is_told):
            skill_doubts(heard, order, method, people, day)


def _person_days(close_out: CloseOut) -> Iterator[tuple[Person, date]]:
    seen: set[tuple[int, date]] = set()
    for entry in close_out.time_entries.select_related("person").order_by("id"):
        if (entry.person_id, entry.work_date) not in seen:
            seen.add((entry.person_id, entry.work_date))
            yield entry.person, entry.work_date
