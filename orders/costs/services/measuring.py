"""Equipment hours and trips as they were measured: each is posted at once, by itself. What a close-out had posted, or
would post, of the same by the visit's own figures gives way, and stays away when the close-out is amended."""

from datetime import date

from estimating.pricing import hours_cents, mileage_cents
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.measured import DRIVE, METHOD, method_source
from orders.costs.models import EquipmentHours, Trip
from orders.costs.selectors import fund_suspense, order_funding
from orders.costs.services.charging import entries_post, payers_of
from orders.costs.services.entries import Cost, entries_make
from orders.costs.services.serving import order_served
from orders.costs.services.sources import served_by
from orders.costs.services.taking_back import source_reverse
from orders.crews.models import Person
from orders.planning.models import Visit
from orders.supplies.models import Equipment
from orders.supplies.selectors import prices
from orders.workorders.models import WorkOrder

MINUTES_A_DAY = 24 * 60
MOST_MILES_TENTHS = 20_000
SECONDS_A_MINUTE = 60
THOUSANDTHS_A_TENTH = 100
HOURS, TRIP = "equipment_hours", "trip"
Measured = EquipmentHours | Trip


@writing()
def equipment_hours_add(
    *,
    stamp: Stamp,
    equipment: Equipment,
    order: WorkOrder,
    visit: Visit,
    work_date: date,
    operating_minutes: int,
    posted_on: date,
    standby_minutes: int = 0,
    method_code: str = "",
) -> EquipmentHours:
    """Hours of a machine on a visit. Of a method that they name, they stand instead of its standard hours."""
    row = EquipmentHours(
        equipment=equipment,
        order=order,
        visit=visit,
        method_code=method_code,
        work_date=work_date,
        operating_minutes=operating_minutes,
        standby_minutes=standby_minutes,
        at=stamp.at,
        by=stamp.by,
    )
    return _hours_store(row, posted_on=posted_on, stamp=stamp)


@writing()
def equipment_hours_correct(
    *, hours: EquipmentHours, operating_minutes: int, standby_minutes: int, posted_on: date, stamp: Stamp
) -> EquipmentHours:
    """Other hours instead of those, with the reason; none at all cost nothing, and the standard hours stay away."""
    _correction_check(hours, stamp)
    row = EquipmentHours(
        equipment=hours.equipment,
        order=hours.order,
        visit=hours.visit,
        method_code=hours.method_code,
        work_date=hours.work_date,
        operating_minutes=operating_minutes,
        standby_minutes=standby_minutes,
        revision=hours.revision + 1,
        replaces=hours,
        reason=stamp.reason,
        at=stamp.at,
        by=stamp.by,
    )
    return _hours_store(row, posted_on=posted_on, stamp=stamp)


def _hours_store(row: EquipmentHours, *, posted_on: date, stamp: Stamp) -> EquipmentHours:
    found = Findings()
    minutes = row.operating_minutes + row.standby_minutes
    found.need(minutes <= MINUTES_A_DAY, "operating_minutes", "A day has 24 hours, standby included.")
    _visit_check(found, row)
    methods = {share.prescription.method.code for share in row.visit.shares.select_related("prescription__method")}
    found.need(not row.method_code or row.method_code in methods, "method_code", "is not worked on this visit")
    row_add(row, stamp=stamp, verb="equipment_hours_add", findings=found)
    if row.replaces is not None:
        source_reverse(HOURS, [row.replaces.public_id], posted_on=posted_on, stamp=stamp)
    if row.method_code:
        source_reverse(METHOD, [method_source(row.visit, row.method_code)], posted_on=posted_on, stamp=stamp)
    _post(_hours_cost(row), row.revision, posted_on=posted_on, stamp=stamp)
    return row


def _hours_cost(row: EquipmentHours) -> Cost:
    """At the machine's own price of the day; where it has none, at its method's. Standby costs nothing."""
    price_of = prices(row.work_date)
    own = price_of.get(("equipment", row.equipment.code))
    rate_e4 = price_of.get(("equipment", row.method_code), 0) if own is None else own
    served = served_by(row.visit, None)
    of_method = [(asked, weight) for asked, weight in served if asked.method.code == row.method_code]
    return Cost(
        category="equipment",
        amount_cents=hours_cents(row.operating_minutes * SECONDS_A_MINUTE, rate_e4),
        quantity=row.operating_minutes,
        unit="min",
        rate_e4=rate_e4,
        rate_origin="price",
        source_kind=HOURS,
        source_id=row.public_id,
        order=row.order,
        visit=row.visit,
        work_date=row.work_date,
        served=of_method or served,
    )


@writing()
def trip_add(
    *,
    stamp: Stamp,
    vehicle: str,
    work_date: date,
    miles_tenths: int,
    posted_on: date,
    order: WorkOrder | None = None,
    visit: Visit | None = None,
    person: Person | None = None,
    purpose: str = "",
) -> Trip:
    """Miles by the odometer. Of a visit that they name, they stand instead of the miles by the map."""
    row = Trip(
        order=order,
        visit=visit,
        person=person,
        vehicle=vehicle,
        work_date=work_date,
        miles_tenths=miles_tenths,
        purpose=purpose,
        at=stamp.at,
        by=stamp.by,
    )
    return _trip_store(row, posted_on=posted_on, stamp=stamp)


@writing()
def trip_correct(*, trip: Trip, miles_tenths: int, posted_on: date, stamp: Stamp) -> Trip:
    """Other miles instead of those, with the reason; none at all cost nothing."""
    _correction_check(trip, stamp)
    row = Trip(
        order=trip.order,
        visit=trip.visit,
        person=trip.person,
        vehicle=trip.vehicle,
        work_date=trip.work_date,
        miles_tenths=miles_tenths,
        purpose=trip.purpose,
        revision=trip.revision + 1,
        replaces=trip,
        reason=stamp.reason,
        at=stamp.at,
        by=stamp.by,
    )
    return _trip_store(row, posted_on=posted_on, stamp=stamp)


def _trip_store(row: Trip, *, posted_on: date, stamp: Stamp) -> Trip:
    found = Findings()
    found.need(row.miles_tenths <= MOST_MILES_TENTHS, "miles_tenths", "A day's trip is at most 2,000 miles.")
    found.need(row.visit is None or row.order is not None, "order", "Name the order of the visit.")
    if row.order is not None and row.visit is not None:
        _visit_check(found, row)
    row_add(row, stamp=stamp, verb="trip_add", findings=found)
    if row.replaces is not None:
        source_reverse(TRIP, [row.replaces.public_id], posted_on=posted_on, stamp=stamp)
    if row.visit is not None:
        source_reverse(DRIVE, [row.visit.public_id], posted_on=posted_on, stamp=stamp)
    _post(_trip_cost(row), row.revision, posted_on=posted_on, stamp=stamp)
    return row


def _trip_cost(row: Trip) -> Cost:
    rate_e4 = prices(row.work_date).get(("mileage", "mileage"), 0)
    return Cost(
        category="mileage",
        amount_cents=mileage_cents(row.miles_tenths * THOUSANDTHS_A_TENTH, rate_e4),
        quantity=row.miles_tenths,
        unit="mi/10",
        rate_e4=rate_e4,
        rate_origin="price",
        source_kind=TRIP,
        source_id=row.public_id,
        order=row.order,
        visit=row.visit,
        work_date=row.work_date,
        served=served_by(row.visit, None) if row.visit else order_served(row.order),
        person=row.person,
    )


def _visit_check(found: Findings, row: Measured) -> None:
    here = row.visit is not None and Visit.objects.filter(pk=row.visit.pk, order_visit__order=row.order).exists()
    found.need(here, "visit", f"is not on {row.order}")
    state = row.order.state if row.order else ""
    found.need(state in {"issued", "underway", "closed"}, "order", f"{row.order} is {state}.")


def _correction_check(row: Measured, stamp: Stamp) -> None:
    if not stamp.reason.strip():
        raise Invalid("Say why it is corrected.", [FieldError("reason", "is required", code="required")])
    hours, trips = EquipmentHours.objects, Trip.objects
    newer = hours.filter(replaces=row) if isinstance(row, EquipmentHours) else trips.filter(replaces=row)
    if newer.exists():
        raise WrongState("This was corrected already; correct what stands instead of it.")


def _post(cost: Cost, revision: int, *, posted_on: date, stamp: Stamp) -> None:
    if not cost.amount_cents:
        return
    funding = order_funding(cost.order) if cost.order else []
    payers = payers_of(cost, funding, fund_suspense())
    rows = entries_make(cost, payers, revision=revision, posted_on=posted_on, reason=stamp.reason, stamp=stamp)
    entries_post(rows, stamp=stamp)
