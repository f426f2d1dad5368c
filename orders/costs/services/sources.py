"""The costs that stand behind a close-out, before they are split: one a time entry, a material use, a visit's drive
and a method's equipment on a visit."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from fractions import Fraction
from uuid import UUID

from estimating.pricing import hours_cents, product_cents, to_cents
from orders.costs.measured import measured_sources, method_source
from orders.costs.services.entries import Cost, Served
from orders.costs.services.labor import labor_rate
from orders.costs.services.match import match_of
from orders.costs.stock_selectors import use_values
from orders.planning.models import Prescription, Visit
from orders.supplies.selectors import prices
from orders.workorders.models import CloseOut, MaterialUse, TimeEntry, WorkOrder
from orders.workorders.selectors import order_visits

E4 = 10_000
SECONDS_A_MINUTE = 60


def costs_of_close_out(close_out: CloseOut) -> list[Cost]:
    visits = {visit.pk: visit for visit in order_visits(close_out.order)}
    times = list(close_out.time_entries.select_related("person__role", "prescription__method").order_by("id"))
    materials = close_out.material_uses.select_related("lot", "prescription").order_by("id")
    order = close_out.order
    costs = [_labor(entry, order, visits[entry.visit_id]) for entry in times]
    costs += [worth for labor in list(costs) if (worth := match_of(labor))]
    values = use_values(use.public_id for use in materials)
    costs += [_material(use, order, visits[use.visit_id], values) for use in materials]
    worked = sorted({entry.visit_id for entry in times})
    measured = measured_sources(order)
    automatic = [c for pk in worked for c in _of_visit(order, visits[pk], [t for t in times if t.visit_id == pk])]
    costs += [cost for cost in automatic if (cost.source_kind, cost.source_id) not in measured]
    return [cost for cost in costs if cost.amount_cents or cost.category == "labor"]


def served_by(visit: Visit, prescription: Prescription | None) -> Served:
    """The one that was named, else all that the visit serves by their planned hours."""
    if prescription is not None:
        return [(share.prescription, Fraction(1)) for share in visit.shares.all() if share.prescription == prescription]
    return [(share.prescription, max(Fraction(share.planned_hours), Fraction(1, 1000))) for share in visit.shares.all()]


def _labor(entry: TimeEntry, order: WorkOrder, visit: Visit) -> Cost:
    rate_e4, origin = labor_rate(entry.person, entry.work_date)
    return Cost(
        category="labor",
        amount_cents=hours_cents(entry.minutes * SECONDS_A_MINUTE, rate_e4),
        quantity=entry.minutes,
        unit="min",
        rate_e4=rate_e4,
        rate_origin=origin,
        source_kind="time_entry",
        source_id=entry.public_id,
        order=order,
        visit=visit,
        work_date=entry.work_date,
        served=served_by(visit, entry.prescription),
        person=entry.person,
    )


def _material(use: MaterialUse, order: WorkOrder, visit: Visit, values: Mapping[UUID, int]) -> Cost:
    """At the value that the use took from stock."""
    at_price = product_cents(use.amount, use.lot.price_e4)
    value = values.get(use.public_id, at_price)
    return Cost(
        category="material",
        amount_cents=value,
        quantity=use.amount,
        unit=use.lot.unit,
        rate_e4=use.lot.price_e4,
        rate_origin="price" if value == at_price else "amount",
        source_kind="material_use",
        source_id=use.public_id,
        order=order,
        visit=visit,
        work_date=use.work_date,
        served=served_by(visit, use.prescription),
    )


def _of_visit(order: WorkOrder, visit: Visit, times: list[TimeEntry]) -> Iterable[Cost]:
    """The drive there and back, and the equipment of each method while its crew worked."""
    price_of = prices(visit.day)
    yield _mileage(order, visit, price_of.get(("mileage", "mileage"), 0))
    minutes = _crew_minutes_by_method(visit, times)
    for method, worked in sorted(minutes.items()):
        yield _equipment(order, visit, method, round(worked), price_of.get(("equipment", method), 0))


def _mileage(order: WorkOrder, visit: Visit, rate_e4: int) -> Cost:
    tenths = int(visit.site.drive_miles * 20)
    return Cost(
        category="mileage",
        amount_cents=to_cents(Fraction(tenths * rate_e4, 10 * E4)),
        quantity=tenths,
        unit="mi/10",
        rate_e4=rate_e4,
        rate_origin="price",
        source_kind="visit_drive",
        source_id=visit.public_id,
        order=order,
        visit=visit,
        work_date=visit.day,
        served=served_by(visit, None),
    )


def _equipment(order: WorkOrder, visit: Visit, method: str, minutes: int, rate_e4: int) -> Cost:
    served = [(p, weight) for p, weight in served_by(visit, None) if p.method.code == method]
    return Cost(
        category="equipment",
        amount_cents=hours_cents(minutes * SECONDS_A_MINUTE, rate_e4),
        quantity=minutes,
        unit="min",
        rate_e4=rate_e4,
        rate_origin="price",
        source_kind="visit_equipment",
        source_id=method_source(visit, method),
        order=order,
        visit=visit,
        work_date=visit.day,
        served=served,
    )


def _crew_minutes_by_method(visit: Visit, times: list[TimeEntry]) -> dict[str, Fraction]:
    """Crew time on the visit (person-minutes over people), shared over methods as the time itself is shared."""
    people = len({entry.person_id for entry in times}) or 1
    minutes: dict[str, Fraction] = defaultdict(Fraction)
    for entry in times:
        served = served_by(visit, entry.prescription)
        whole = sum(weight for _, weight in served)
        for prescription, weight in served:
            minutes[prescription.method.code] += Fraction(entry.minutes) * weight / whole / people
    return minutes
