"""Reads of orders. Those that take the actor are for interfaces: a crew lead sees the orders of own crews only."""

from datetime import date
from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD, FINANCE, PESTICIDE_SUPERVISOR
from orders.planning.models import Prescription, Visit, VisitShare
from orders.planning.selectors import visits
from orders.workorders.models import CloseOut, LimitOverride, PatchOutcome, WorkOrder

SEE_ALL = (COORDINATOR, FINANCE, PESTICIDE_SUPERVISOR, ADMINISTRATOR)


def _own_crews(actor: User, on: date) -> Q:
    member = Q(crew__memberships__person__user=actor) & Q(crew__memberships__first_day__lte=on)
    return member & (Q(crew__memberships__last_day__isnull=True) | Q(crew__memberships__last_day__gte=on))


def orders_of(actor: User, *, on: date) -> QuerySet[WorkOrder]:
    """The one scope of orders for lists, single reads, searches and exports. Drafts are the desk's alone."""
    rows = WorkOrder.objects.select_related("site", "crew", "season")
    if actor.has_role(*SEE_ALL):
        return rows.order_by("number")
    if actor.has_role(CREW_LEAD):
        return rows.filter(_own_crews(actor, on)).exclude(state="draft").distinct().order_by("number")
    return rows.none()


def order_get(actor: User, order_id: UUID, *, on: date) -> WorkOrder:
    found = orders_of(actor, on=on).filter(public_id=order_id).first()
    if found is None:
        raise NotFound("There is no such work order.")
    return found


def order_by_number(actor: User, number: int, *, on: date) -> WorkOrder:
    found = orders_of(actor, on=on).filter(number=number).first()
    if found is None:
        raise NotFound(f"There is no work order {number}.")
    return found


def order_visits(order: WorkOrder) -> QuerySet[Visit]:
    shares = VisitShare.objects.select_related("prescription__patch", "prescription__method", "prescription__estimate")
    return (
        Visit.objects.filter(order_visit__order=order)
        .select_related("crew", "site")
        .prefetch_related(Prefetch("shares", queryset=shares.order_by("id")))
        .order_by("day", "id")
    )


def order_shares(order: WorkOrder) -> list[VisitShare]:
    """What the order's visits serve, in a fixed order; visits that fell away do not count."""
    rows = VisitShare.objects.filter(visit__order_visit__order=order).exclude(visit__state="dropped")
    related = ("visit__site", "prescription__patch", "prescription__method", "prescription__estimate__survey")
    return list(rows.select_related(*related).order_by("visit__day", "visit_id", "prescription_id"))


def order_prescriptions(order: WorkOrder) -> QuerySet[Prescription]:
    rows = Prescription.objects.filter(visit_shares__visit__order_visit__order=order)
    return rows.select_related("patch", "method", "estimate").distinct().order_by("id")


def close_out_standing(order: WorkOrder) -> CloseOut | None:
    """The newest revision: what counts."""
    return order.close_outs.order_by("-revision").first()


def outcomes_standing() -> QuerySet[PatchOutcome]:
    """Outcomes of the standing revision of each close-out."""
    return PatchOutcome.objects.filter(close_out__amended_by__isnull=True).order_by("id")


def repeat_years(*, on: date) -> dict[int, int]:
    """Which year of treatment a patch would be in: 1 and one more for each earlier year with closed work; patches
    without any are left out."""
    years: dict[int, set[int]] = {}
    worked = outcomes_standing().filter(percent_complete__gt=0, close_out__work_date__year__lt=on.year)
    worked = worked.exclude(prescription__method__code="monitor")
    for patch, day in worked.values_list("prescription__patch_id", "close_out__work_date").order_by():
        years.setdefault(patch, set()).add(day.year)
    return {patch: 1 + len(seen) for patch, seen in years.items()}


def visits_of(actor: User, *, on: date) -> QuerySet[Visit]:
    """All visits for the office; a crew lead's are those on the orders that the lead may see."""
    rows = visits()
    if actor.has_role(*SEE_ALL):
        return rows
    return rows.filter(order_visit__order__in=orders_of(actor, on=on).order_by().values("pk"))


def visit_get(actor: User, visit_id: UUID, *, on: date) -> Visit:
    rows = visits_of(actor, on=on).select_related("order_visit__order", "plan_run", "replaces")
    found = rows.filter(public_id=visit_id).first()
    if found is None:
        raise NotFound("There is no such visit.")
    return found


def order_visit_get(order: WorkOrder, visit_id: UUID) -> Visit:
    found = order_visits(order).filter(public_id=visit_id).first()
    if found is None:
        raise NotFound("The order has no such visit.")
    return found


def close_outs(order: WorkOrder) -> QuerySet[CloseOut]:
    """Every revision with all that it states, the standing one last."""
    rows = order.close_outs.select_related("by").prefetch_related(
        "outcomes__prescription__patch__site",
        "outcomes__prescription__method",
        "time_entries__person",
        "time_entries__visit",
        "time_entries__prescription",
        "material_uses__lot__product",
        "material_uses__visit",
        "material_uses__prescription",
    )
    return rows.order_by("revision")


def overrides(order: WorkOrder) -> QuerySet[LimitOverride]:
    return order.overrides.select_related("by").order_by("id")
