"""Orders on their way to their crews: drafted from planned visits, each with who pays it, and what keeps one back."""

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import QuerySet

from orders.common.errors import Refusal, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.services.entries import Payer
from orders.costs.services.posting import funding_missing, order_fund, order_shares_by_rule
from orders.costs.services.shares import fund_shares_planned
from orders.planning.models import Season, Visit
from orders.planning.selectors import visits
from orders.workorders.grouping import visits_by_order
from orders.workorders.guards import issue_refusals
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_shares
from orders.workorders.services import order_draft


@writing()
def orders_draft(*, visits: Iterable[Visit], funding: Iterable[Payer] = (), stamp: Stamp) -> list[WorkOrder]:
    """One order for each crew, site and week. `funding` says who pays; without it, the funds of their work do, or else
    a rule, or nobody yet."""
    orders = [order_draft(visits=served, stamp=stamp) for served in visits_by_order(visits)]
    given = list(funding)
    for order in orders:
        if shares := given or _planned_shares(order) or order_shares_by_rule(order):
            order_fund(order=order, shares=shares, stamp=stamp)
    return orders


def _planned_shares(order: WorkOrder) -> list[Payer]:
    """By the funds that the prescriptions on the order are paid from."""
    hours: dict[str, float] = defaultdict(float)
    for share in order_shares(order):
        fund = share.prescription.fund
        hours[fund.code if fund else ""] += share.planned_hours
    return fund_shares_planned(hours, order.first_day, order.last_day)


def visits_unordered(season: Season) -> QuerySet[Visit]:
    """Planned, and on no order: put there by hand, or since the last plan was accepted."""
    return visits(season).filter(state="planned", order_visit__isnull=True).defer("site__boundary")


@writing()
def orders_draft_missing(*, season: Season, stamp: Stamp) -> list[WorkOrder]:
    """Orders for all planned visits of a season that have none."""
    found = list(visits_unordered(season))
    if not found:
        raise WrongState(f"Every planned visit of {season} is on an order.")
    return orders_draft(visits=found, stamp=stamp)


def issue_obstacles(order: WorkOrder, *, stamp: Stamp) -> list[Refusal]:
    """All that would keep a draft from being issued now, as the issue itself would say it. Stores nothing."""
    if order.state != "draft":
        return [WrongState(f"{order} is {order.state}; it would have to be draft.", data={"state": order.state})]
    found: list[Refusal] = list(issue_refusals(order, today=stamp.local_date(order.site.time_zone)))
    unpaid = funding_missing(order)
    return [*found, unpaid] if unpaid else found
