"""One order as the tablet holds it, read for many orders at once."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from orders.carried.chemicals import entry_rule, label_texts, weather_limits
from orders.carried.closed import close_shown, closes_standing
from orders.carried.mixes import MixOf, mix_shown, mixes_of
from orders.carried.work import Part, hazards, paid_hours, work_row
from orders.planning.models import Prescription, Visit, VisitShare
from orders.supplies.selectors import product_names
from orders.workorders.label_cards import label_shown
from orders.workorders.models import CloseOut, OrderVisit, WorkOrder
from orders.workorders.records.states import orders_record_states

# Of a visit on an order there is more to say inside than a crew needs: it is planned until it is done or called off.
VISIT_STATES = {"ordered": "planned", "planned": "planned", "done": "done", "not_done": "not_done"}


@dataclass(frozen=True)
class Read:
    """What is read once for all orders, by the order's key."""

    shares: Mapping[int, list[VisitShare]]
    visits: Mapping[int, list[Visit]]
    mixes: Mapping[int, MixOf]
    names: Mapping[str, str]
    closes: Mapping[int, CloseOut]
    records_open: Mapping[int, bool]


def orders_shown(orders: Sequence[WorkOrder]) -> list[dict[str, Any]]:
    """In the order given; `lots` are added by who knows all lots."""
    read = _read(orders)
    return [_order(order, read) for order in orders]


def _read(orders: Sequence[WorkOrder]) -> Read:
    shares: dict[int, list[VisitShare]] = defaultdict(list)
    for share in _shares(orders):
        shares[share.visit.order_visit.order_id].append(share)
    visits: dict[int, list[Visit]] = defaultdict(list)
    rows = OrderVisit.objects.filter(order__in=orders).exclude(visit__state="dropped").select_related("visit")
    for row in rows.order_by("visit__day", "visit_id"):
        visits[row.order_id].append(row.visit)
    every = [share.prescription.estimate for served in shares.values() for share in served]
    used = {code for estimate in every for code in estimate.products_ul}
    return Read(
        shares=shares,
        visits=visits,
        mixes=mixes_of({estimate.pk for estimate in every}),
        names=product_names(used),
        closes=closes_standing(orders),
        records_open={key: found.is_open for key, found in orders_record_states(orders).items()},
    )


def _shares(orders: Sequence[WorkOrder]) -> Iterable[VisitShare]:
    related = (
        "visit__order_visit",
        "prescription__patch",
        "prescription__method__qualification",
        "prescription__estimate__method",
        "prescription__estimate__survey",
    )
    survey = "prescription__estimate__survey__components"
    return (
        VisitShare.objects.filter(visit__order_visit__order__in=orders)
        .exclude(visit__state="dropped")
        .select_related(*related)
        .defer("prescription__estimate__inputs")
        .prefetch_related(
            f"{survey}__species", f"{survey}__growth_form", "prescription__method__equipment_needs__equipment"
        )
        .order_by("visit__day", "visit_id", "prescription__patch__code", "id")
    )


def _order(order: WorkOrder, read: Read) -> dict[str, Any]:
    shares, visits = read.shares.get(order.pk, []), read.visits.get(order.pk, [])
    card = label_shown(order)
    parts = [Part.of(share) for share in shares]
    return {
        "id": str(order.public_id),
        "number": order.number,
        "version": order.version,
        "state": order.state,
        "crew": str(order.crew.public_id),
        "site": str(order.site.public_id),
        "season": order.season.name,
        "first_day": order.first_day.isoformat(),
        "last_day": order.last_day.isoformat(),
        "instructions": order.instructions,
        "hours": paid_hours(parts),
        "visits": [_visit(visit, shares) for visit in visits],
        "work": _work(shares, read.mixes),
        "bring": _bring(shares),
        "protective_equipment": label_texts(card, "protective_equipment"),
        "cautions": label_texts(card, "cautions"),
        "hazards": hazards(parts, {visit.day.month for visit in visits}),
        "mixes": _mixes(shares, read),
        "label": card,
        "entry": entry_rule(card, order.site),
        "weather_limits": weather_limits(card),
        "rain_free_hours": card["rain_free_hours"],
        "close_out": close_shown(read.closes.get(order.pk)),
        "record_open": read.records_open[order.pk],
    }


def _visit(visit: Visit, shares: Sequence[VisitShare]) -> dict[str, Any]:
    own = [share for share in shares if share.visit_id == visit.pk]
    return {
        "id": str(visit.public_id),
        "day": visit.day.isoformat(),
        "state": VISIT_STATES[visit.state],
        "hours": paid_hours([Part.of(share) for share in own]),
        "prescriptions": [
            {
                "prescription": str(share.prescription.public_id),
                "share": share.share,
                "planned_hours": round(share.planned_hours, 2),
            }
            for share in own
        ],
    }


def _work(shares: Sequence[VisitShare], mixes: Mapping[int, MixOf]) -> list[dict[str, Any]]:
    """One row a prescription, on however many visits."""
    asked: dict[int, Prescription] = {}
    fractions: dict[int, float] = defaultdict(float)
    for share in shares:
        asked.setdefault(share.prescription_id, share.prescription)
        fractions[share.prescription_id] += Part.of(share).fraction
    return [work_row(row, fractions[key], mixes.get(row.estimate_id)) for key, row in asked.items()]


def _bring(shares: Sequence[VisitShare]) -> list[dict[str, Any]]:
    """What a crew has with it on a day; methods of one day share it."""
    most: dict[str, int] = {}
    for share in shares:
        for need in share.prescription.method.equipment_needs.all():
            most[need.equipment.name] = max(most.get(need.equipment.name, 0), need.units_per_crew)
    return [{"name": name, "count": count} for name, count in sorted(most.items())]


def _mixes(shares: Sequence[VisitShare], read: Read) -> list[dict[str, Any]]:
    """A card for each mix: the work of all patches that it is for, together."""
    needed: dict[str, float] = defaultdict(float)
    newest: dict[str, MixOf] = {}
    for share in sorted(shares, key=lambda share: share.prescription.estimate_id):
        mix, part = read.mixes.get(share.prescription.estimate_id), Part.of(share)
        if mix is not None:
            needed[mix.code] += part.estimate.spray_volume_l * part.fraction
            newest[mix.code] = mix
    return [mix_shown(mix, needed[code], read.names) for code, mix in newest.items()]
