"""Reads of money. Every one that an interface calls takes the actor: pay and costs are finance's."""

from uuid import UUID

from django.db.models import QuerySet

from orders.common.errors import NotFound, RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE
from orders.costs.models import Award, Commitment, Fund, LedgerEntry, OrderFunding
from orders.workorders.models import CloseOut, WorkOrder

# what a close-out posts by itself
CLOSE_OUT_SOURCES = ("time_entry", "time_match", "material_use", "visit_drive", "visit_equipment")


def costs_open_to(actor: User) -> None:
    if not actor.has_role(FINANCE, ADMINISTRATOR):
        raise RoleMissing("Cost pages are open to finance.")


def funds() -> QuerySet[Fund]:
    return Fund.objects.prefetch_related("awards").order_by("code")


def fund_get(fund_id: UUID) -> Fund:
    found = Fund.objects.filter(public_id=fund_id).first()
    if found is None:
        raise NotFound("There is no such fund.")
    return found


def fund_suspense() -> Fund:
    found = Fund.objects.filter(is_suspense=True).first()
    if found is None:
        raise NotFound("No fund is marked as the suspense fund; add one before costs are posted.")
    return found


def award_get(award_id: UUID) -> Award:
    found = Award.objects.filter(public_id=award_id).first()
    if found is None:
        raise NotFound("There is no such award.")
    return found


def order_funding(order: WorkOrder) -> list[OrderFunding]:
    return list(order.funding.select_related("fund", "award").order_by("id"))


def ledger(actor: User) -> QuerySet[LedgerEntry]:
    costs_open_to(actor)
    return LedgerEntry.objects.select_related("fund", "award", "person", "order").order_by("id")


def ledger_standing(close_out: CloseOut) -> QuerySet[LedgerEntry]:
    """Rows of one close-out that no later row has reversed."""
    rows = LedgerEntry.objects.filter(order=close_out.order, revision=close_out.revision, reverses__isnull=True)
    rows = rows.filter(source_kind__in=CLOSE_OUT_SOURCES)
    return rows.filter(reversed_by__isnull=True).order_by("id")


def commitments_standing(order: WorkOrder) -> list[Commitment]:
    """Rows of an order's plan that were not taken back; what was bought for it stands by itself."""
    rows = Commitment.objects.filter(order=order, purchase_line__isnull=True).order_by("id")
    taken_back = set(rows.filter(is_reversal=True).values_list("posting_key", flat=True))
    return [row for row in rows.filter(is_reversal=False) if reversal_key(row.posting_key) not in taken_back]


def reversal_key(posting_key: str) -> str:
    """Of the row that takes back what this key posted."""
    return f"{posting_key}:reversed"


def awards() -> QuerySet[Award]:
    return Award.objects.select_related("fund").order_by("code")


def order_funding_of(actor: User, order: WorkOrder) -> list[OrderFunding] | None:
    """Who pays, as shares; None for those whom it does not concern."""
    return order_funding(order) if actor.has_role(FINANCE, ADMINISTRATOR, COORDINATOR) else None


def fund_by_code(code: str) -> Fund:
    found = Fund.objects.filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no fund {code}.")
    return found
