"""Writes of a work order: draft, issue, start, visits not done, void. Closing is in closing.py."""

from collections.abc import Iterable
from uuid import UUID

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.numbers import number_next
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew
from orders.planning.models import Prescription, Visit
from orders.planning.moving import by_hand
from orders.planning.services import prescription_reopen, visit_settle
from orders.workorders.label_cards import label_card
from orders.workorders.models import LimitOverride, OrderVisit, WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits

MOST_INSTRUCTIONS = 4_000


@writing()
def order_draft(
    *, visits: Iterable[Visit], stamp: Stamp, instructions: str = "", public_id: UUID | None = None
) -> WorkOrder:
    """One order for visits of one crew at one site."""
    served = sorted(visits, key=lambda visit: (visit.day, visit.pk))
    _draft_check(served)
    first = served[0]
    named = {} if public_id is None else {"public_id": public_id}
    order = WorkOrder.objects.create(
        number=number_next("work order"),
        season=first.season,
        site=first.site,
        crew=first.crew,
        first_day=first.day,
        last_day=served[-1].day,
        instructions=instructions,
        **named,
    )
    for visit in served:
        OrderVisit.objects.create(order=order, visit=visit)
        visit_settle(visit=visit, state="ordered", stamp=stamp)
    for prescription in order_prescriptions(order).filter(state="planned"):
        version_bump(prescription, expected=None, state="ordered")
    change_record(stamp=stamp, verb="order_draft", entity=order, after={"number": order.number, "state": "draft"})
    return order


def _draft_check(visits: list[Visit]) -> None:
    if not visits:
        raise Invalid("An order needs at least one visit.", [FieldError("visits", "is empty", code="required")])
    if len({(visit.crew_id, visit.site_id, visit.season_id) for visit in visits}) > 1:
        raise Invalid("One order is for one crew at one site.", [FieldError("visits", "differ in crew or site")])
    for visit in visits:
        if visit.state != "planned":
            raise WrongState(f"The visit {visit} is {visit.get_state_display().lower()}, not planned.")


def order_step(
    order: WorkOrder, *, now_in: tuple[str, ...], state: str, stamp: Stamp, verb: str, **values: object
) -> None:
    """Compare-and-set of the state, with its change record for the crew."""
    if order.state not in now_in:
        wanted = " or ".join(now_in)
        raise WrongState(f"{order} is {order.state}; it would have to be {wanted}.", data={"state": order.state})
    before = version_bump(order, expected=None, state=state, **values)
    crew = [] if state == "draft" else [order.crew.public_id]
    shown = {name: str(value) for name, value in before.items()}
    change_record(stamp=stamp, verb=verb, entity=order, before=shown, after={"state": state}, audience=crew)


@writing()
def order_issue(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """State change and the labels' word; the checks that need other stages are flow.issue_order's."""
    card = label_card(order, at=stamp.at)
    order_step(
        order, now_in=("draft",), state="issued", stamp=stamp, verb="order_issue", issued_at=stamp.at, label=card
    )
    return order


@writing()
def order_start(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    order_step(order, now_in=("issued",), state="underway", stamp=stamp, verb="order_start", started_at=stamp.at)
    return order


@writing()
def order_instruct(*, order: WorkOrder, instructions: str, expected: int | None = None, stamp: Stamp) -> WorkOrder:
    """Say to the crew what no method says. Until it starts; the crew of an issued order hears of it. `expected` is the
    version that was read."""
    if order.state not in {"draft", "issued"}:
        raise WrongState(f"{order} is {order.state}; instructions are for an order that was not started.")
    said = instructions.strip()
    if len(said) > MOST_INSTRUCTIONS:
        detail = f"at most {MOST_INSTRUCTIONS:,} characters"
        raise Invalid("The instructions are too long.", [FieldError("instructions", detail)])
    before = version_bump(order, expected=expected, instructions=said)
    audience = [] if order.state == "draft" else [order.crew.public_id]
    after = {"instructions": said}
    change_record(stamp=stamp, verb="order_instruct", entity=order, before=before, after=after, audience=audience)
    return order


@writing()
def order_override_add(*, order: WorkOrder, limit_kind: str, limit: str, stamp: Stamp) -> LimitOverride:
    """A named person takes an order beyond an advisory or program limit; a mandatory one is never open to this."""
    if limit_kind == "label-mandatory":
        raise Invalid("The label is the law: this limit cannot be overridden.", [FieldError("limit_kind", "mandatory")])
    if not stamp.reason or stamp.by is None:
        raise Invalid(
            "An override needs a person and a reason.", [FieldError("reason", "is required", code="required")]
        )
    override = LimitOverride.objects.create(
        order=order, limit_kind=limit_kind, limit=limit, reason=stamp.reason, by=stamp.by, at=stamp.at
    )
    change_record(stamp=stamp, verb="order_override_add", entity=override, after={"limit": limit})
    return override


@writing()
def order_reassign(*, order: WorkOrder, crew: Crew, stamp: Stamp) -> WorkOrder:
    """Another crew takes the order, and what a plan said of its visits' crew holds no more; the old crew's feed gets a
    tombstone."""
    if order.state not in {"draft", "issued"}:
        raise WrongState(f"{order} is {order.state}; only an order that was not started can change crews.")
    left = order.crew
    before = version_bump(order, expected=None, crew=crew)
    for visit in order_visits(order):
        version_bump(visit, expected=None, crew=crew, because=[by_hand(visit, stamp)])
    change_record(
        stamp=stamp,
        verb="order_reassign",
        entity=order,
        before={"crew": str(before["crew"])},
        after={"crew": crew.name},
        audience=[crew.public_id] if order.state == "issued" else [],
        gone=[left.public_id] if order.state == "issued" else [],
    )
    return order


@writing()
def order_void(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """Nothing was done on it: its visits fall away and their prescriptions are demand again."""
    if not stamp.reason:
        raise Invalid("Say why the order is void.", [FieldError("reason", "is required", code="required")])
    asked = list(order_prescriptions(order).filter(state="ordered"))
    allowed = ("draft", "issued", "underway")
    order_step(order, now_in=allowed, state="void", stamp=stamp, verb="order_void", void_reason=stamp.reason[:200])
    for visit in order_visits(order):
        visit_settle(visit=visit, state="dropped", stamp=stamp)
    for prescription in asked:
        prescription_reopen(prescription=prescription, stamp=stamp)
    return order


@writing()
def visit_not_done(*, order: WorkOrder, visit: Visit, stamp: Stamp) -> Visit:
    """Rain, a sick crew, a locked gate: the visit is off, its work waits for the close or for another order."""
    if order.state not in {"issued", "underway"}:
        raise WrongState(f"{order} is {order.state}; only an issued order has visits to call off.")
    if visit.state != "ordered":
        raise WrongState(f"The visit is {visit.get_state_display().lower()} already.")
    return visit_settle(visit=visit, state="not_done", stamp=stamp, not_done_reason=stamp.reason[:200])


def prescriptions_settled(order: WorkOrder) -> list[Prescription]:
    """Prescriptions of a closed order that no other standing visit still serves."""
    waiting = Visit.objects.filter(state__in=["planned", "ordered"])
    return [
        prescription
        for prescription in order_prescriptions(order)
        if not waiting.filter(shares__prescription=prescription).exclude(order_visit__order=order).exists()
    ]
