"""A closed order, and the people who close its month."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

from orders import flow
from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry, Period
from orders.costs.services.periods import Outsider, period_close_ask, period_close_confirm
from orders.costs.services.proof import proof_run
from orders.workorders.models import WorkOrder
from tests import build
from tests.flow.world import WORK_DAY, World, issued, statement, world_build

FEBRUARY, MARCH = date(2027, 2, 1), date(2027, 3, 1)
AFTER = datetime(2027, 4, 5, 15, tzinfo=UTC)
OUTSIDER = Outsider("P. Sedge", "Invented Auditors", "By letter of April 2")


@dataclass
class Office:
    world: World
    first: Any
    second: Any

    def stamp(self, by: Any = None, at: datetime = AFTER, reason: str = "") -> Stamp:
        return Stamp(by=by or self.first, at=at, reason=reason)

    def closed(self, month: date = FEBRUARY) -> Period:
        """The month is proven, asked for and confirmed."""
        proof_run(AFTER)
        period = period_close_ask(month=month, stamp=self.stamp())
        return period_close_confirm(period=period, stamp=self.stamp(self.second))


def office_build(*, percent: int = 70) -> Office:
    """One order was closed in February."""
    world = world_build()
    order = issued(world)
    flow.close_order(order=order, statement=statement(order, percent=percent), stamp=world.stamp(world.lead, WORK_DAY))
    return Office(world, world.finance, build.UserFactory(username="second", roles=["finance"]))


def the_order() -> WorkOrder:
    return WorkOrder.objects.order_by("id").first()  # type: ignore[return-value]


def posted_again(row: LedgerEntry, **changed: Any) -> LedgerEntry:
    """A copy of a row, posted once more past every service."""
    copy = LedgerEntry.objects.get(pk=row.pk)
    copy.pk, copy.public_id, copy.posting_key = None, uuid4(), f"forged-{uuid4()}"
    for name, value in changed.items():
        setattr(copy, name, value)
    copy.save(force_insert=True)
    return copy
