"""Closing an order and amending the close-out: the crew's statement, checked for structure and stored once."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Person
from orders.planning.models import Prescription, Visit
from orders.planning.selectors import LEAST_SHARE, share_unplanned
from orders.planning.services import prescription_add, prescription_drop, visit_settle
from orders.supplies.amounts import ENTRY_UNITS, small_amount, small_unit
from orders.supplies.models import StockLot
from orders.workorders.models import CloseOut, MaterialUse, PatchOutcome, TimeEntry, WorkOrder
from orders.workorders.selectors import close_out_standing, order_prescriptions, order_shares, order_visits
from orders.workorders.services import order_step, prescriptions_settled
from orders.workorders.statements import Statement

MINUTES_A_DAY = 24 * 60
ORIGINS = {code for code, _ in TimeEntry.ORIGINS}


@dataclass(frozen=True)
class Named:
    """The rows that a statement names, looked up once."""

    visits: dict[UUID, Visit]
    prescriptions: dict[UUID, Prescription]
    people: dict[UUID, Person]
    lots: dict[UUID, StockLot]


@writing()
def order_close(*, order: WorkOrder, statement: Statement, stamp: Stamp) -> CloseOut:
    """Store the statement as revision 1 and close the order; what was left undone becomes a prescription again."""
    named = _look_up(order, statement)
    _check(order, statement, named)
    order_step(
        order,
        now_in=("issued", "underway"),
        state="closed",
        stamp=stamp,
        verb="order_close",
        closed_at=stamp.at,
        started_at=order.started_at or statement.happened_at,
    )
    close_out = _store(order, statement, named, stamp=stamp, revision=1, amends=None)
    for visit in named.visits.values():
        if visit.state == "ordered":
            visit_settle(visit=visit, state="done", stamp=stamp)
    for prescription in prescriptions_settled(order):
        never_planned = share_unplanned(prescription) > LEAST_SHARE
        version_bump(prescription, expected=None, state="open" if never_planned else "done")
    _remainders_add(order, close_out, stamp)
    return close_out


@writing()
def order_amend(*, order: WorkOrder, statement: Statement, stamp: Stamp) -> CloseOut:
    """A whole new statement with its reason; the old one stays and is pointed at."""
    standing = close_out_standing(order)
    if order.state != "closed" or standing is None:
        raise WrongState(f"{order} is {order.state}; only a closed order's close-out can be amended.")
    if not stamp.reason:
        raise Invalid("Say why the close-out is amended.", [FieldError("reason", "is required", code="required")])
    named = _look_up(order, statement)
    _check(order, statement, named)
    _remainders_take_back(order, standing, statement, stamp)
    close_out = _store(order, statement, named, stamp=stamp, revision=standing.revision + 1, amends=standing)
    _remainders_add(order, close_out, stamp)
    before = {"revision": standing.revision}
    after = {"revision": close_out.revision}
    version_bump(order, expected=None)
    audience = [order.crew.public_id]
    change_record(stamp=stamp, verb="order_amend", entity=order, before=before, after=after, audience=audience)
    return close_out


def _look_up(order: WorkOrder, statement: Statement) -> Named:
    people = Person.objects.filter(public_id__in={time.person for time in statement.times})
    lots = StockLot.objects.select_related("product")
    lots = lots.filter(public_id__in={material.lot for material in statement.materials})
    return Named(
        visits={visit.public_id: visit for visit in order_visits(order)},
        prescriptions={row.public_id: row for row in order_prescriptions(order)},
        people={person.public_id: person for person in people},
        lots={lot.public_id: lot for lot in lots},
    )


def _check(order: WorkOrder, statement: Statement, named: Named) -> None:
    """Structure only: what physically happened is stored even where a rule was broken; flags are for people."""
    errors = [
        *_check_outcomes(statement, named),
        *_check_times(statement, named),
        *_check_materials(statement, named),
    ]
    if not statement.confirmed_by.strip():
        errors.append(FieldError("confirmed_by", "is required", code="required"))
    if errors:
        raise Invalid(f"The close-out of {order} cannot be read.", errors)


def _check_outcomes(statement: Statement, named: Named) -> Iterable[FieldError]:
    told = [outcome.prescription for outcome in statement.outcomes]
    for row, outcome in enumerate(statement.outcomes, start=1):
        if outcome.prescription not in named.prescriptions:
            yield FieldError("outcomes.prescription", "is not on this order", row)
        if not 0 <= outcome.percent_complete <= 100:
            yield FieldError("outcomes.percent_complete", "must be from 0 to 100", row)
        if told.count(outcome.prescription) > 1:
            yield FieldError("outcomes.prescription", "is stated twice", row, "duplicate")
    for missing in sorted(set(named.prescriptions) - set(told), key=str):
        yield FieldError("outcomes", f"says nothing of {named.prescriptions[missing]}", code="required")


def _check_times(statement: Statement, named: Named) -> Iterable[FieldError]:
    by_day: dict[tuple[UUID, object], int] = defaultdict(int)
    for row, time in enumerate(statement.times, start=1):
        visit = named.visits.get(time.visit)
        if visit is None:
            yield FieldError("times.visit", "is not on this order", row)
            continue
        if time.person not in named.people:
            yield FieldError("times.person", "is not known", row)
        if time.origin not in ORIGINS:
            yield FieldError("times.origin", f"must be one of {', '.join(sorted(ORIGINS))}", row)
        if time.prescription and time.prescription not in named.prescriptions:
            yield FieldError("times.prescription", "is not on this order", row)
        if time.minutes <= 0:
            yield FieldError("times.minutes", "must be above 0", row)
        day = time.work_date or visit.day
        by_day[time.person, day] += max(time.minutes, 0)
        if by_day[time.person, day] > MINUTES_A_DAY:
            yield FieldError("times.minutes", "make more than 24 hours for one person on one day", row)


def _check_materials(statement: Statement, named: Named) -> Iterable[FieldError]:
    for row, material in enumerate(statement.materials, start=1):
        if material.visit not in named.visits:
            yield FieldError("materials.visit", "is not on this order", row)
        if material.prescription and material.prescription not in named.prescriptions:
            yield FieldError("materials.prescription", "is not on this order", row)
        lot = named.lots.get(material.lot)
        if lot is None:
            yield FieldError("materials.lot", "is not known", row)
        elif material.value <= Decimal(0):
            yield FieldError("materials.value", "must be above 0", row)
        elif material.unit not in ENTRY_UNITS or small_unit(material.unit) != lot.unit:
            yield FieldError("materials.unit", f"{material.unit} does not measure {lot.product.name}", row)


def _store(
    order: WorkOrder, statement: Statement, named: Named, *, stamp: Stamp, revision: int, amends: CloseOut | None
) -> CloseOut:
    if stamp.by is None:
        raise Invalid("A close-out is stated by a person.", [FieldError("by", "is required", code="required")])
    close_out = CloseOut.objects.create(
        public_id=statement.public_id,
        order=order,
        revision=revision,
        amends=amends,
        reason=stamp.reason,
        work_date=statement.work_date,
        happened_at=statement.happened_at,
        received_at=stamp.at,
        confirmed_by=statement.confirmed_by,
        by=stamp.by,
        condition=statement.condition,
        weather=statement.weather,
        follow_up_wanted=statement.follow_up_wanted,
        notes=statement.notes,
    )
    PatchOutcome.objects.bulk_create(
        PatchOutcome(
            close_out=close_out,
            prescription=named.prescriptions[outcome.prescription],
            percent_complete=outcome.percent_complete,
            stems_cut=outcome.stems_cut,
            area_done_m2=outcome.area_done_m2,
            drawn=outcome.drawn,
        )
        for outcome in statement.outcomes
    )
    _store_times(close_out, statement, named)
    _store_materials(close_out, statement, named)
    return close_out


def _one_of(named: dict[UUID, Prescription]) -> Callable[[UUID | None], Prescription | None]:
    return lambda key: None if key is None else named[key]


def _store_times(close_out: CloseOut, statement: Statement, named: Named) -> None:
    prescription_of = _one_of(named.prescriptions)
    TimeEntry.objects.bulk_create(
        TimeEntry(
            public_id=time.public_id,
            close_out=close_out,
            visit=named.visits[time.visit],
            person=named.people[time.person],
            prescription=prescription_of(time.prescription),
            step=time.step,
            work_date=time.work_date or named.visits[time.visit].day,
            minutes=time.minutes,
            origin=time.origin,
            happened_at=close_out.happened_at,
            received_at=close_out.received_at,
        )
        for time in statement.times
    )


def _store_materials(close_out: CloseOut, statement: Statement, named: Named) -> None:
    prescription_of = _one_of(named.prescriptions)
    MaterialUse.objects.bulk_create(
        MaterialUse(
            public_id=material.public_id,
            close_out=close_out,
            visit=named.visits[material.visit],
            prescription=prescription_of(material.prescription),
            lot=named.lots[material.lot],
            amount=small_amount(material.value, material.unit),
            entered_value=material.value,
            entered_unit=material.unit,
            work_date=material.work_date or named.visits[material.visit].day,
            happened_at=close_out.happened_at,
            received_at=close_out.received_at,
        )
        for material in statement.materials
    )


def _share_on_order(order: WorkOrder) -> dict[int, float]:
    shares: dict[int, float] = defaultdict(float)
    for share in order_shares(order):
        shares[share.prescription_id] += share.share
    return shares


def _remainders_add(order: WorkOrder, close_out: CloseOut, stamp: Stamp) -> None:
    """What was left undone of each prescription's part on this order is demand again."""
    shares = _share_on_order(order)
    for outcome in close_out.outcomes.select_related(
        "prescription__season", "prescription__estimate__survey__patch", "prescription__fund"
    ):
        asked = outcome.prescription
        left = asked.share_left * shares[asked.pk] * (100 - outcome.percent_complete) / 100
        if left < LEAST_SHARE:
            continue
        prescription_add(
            season=asked.season,
            estimate=asked.estimate,
            first_day=asked.first_day,
            last_day=asked.last_day,
            window_because=asked.window_because,
            why=f"Left over from work order {order.number}: {100 - outcome.percent_complete}% was not done.",
            stamp=stamp,
            origin="remainder",
            follows=asked,
            share_left=min(1.0, left),
            fund=asked.fund,
            seed_due_on=asked.seed_due_on,
            purpose=asked.purpose,
        )


def _remainders_take_back(order: WorkOrder, standing: CloseOut, statement: Statement, stamp: Stamp) -> None:
    """An amendment states the outcome anew; remainders of the old statement go, if nobody has ordered them yet."""
    why = f"Left over from work order {order.number}:"
    asked = [outcome.prescription_id for outcome in standing.outcomes.all()]
    left_over = Prescription.objects.filter(follows__in=asked, origin="remainder", why__startswith=why)
    for prescription in left_over.exclude(state="dropped"):
        if prescription.state in {"ordered", "done"}:
            raise WrongState(f"The rest of {prescription} is on another order already. Void that one first.")
        taken_back = stamp.because(f"Close-out of work order {order.number} amended: {stamp.reason}")
        prescription_drop(prescription=prescription, stamp=taken_back)
