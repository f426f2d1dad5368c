"""What can happen to a work order."""

from typing import Any

from orders import corrections, flow
from orders.api.funding import ShareIn, fund_shares
from orders.api.operations import edits, writes
from orders.api.statements import CloseOutOut
from orders.api.work_orders import OrderEndpoint, OrderOut, OrderRow, OrderVisitOut, OrderWith, OverrideOut
from orders.bodies.base import Because, Body, many
from orders.bodies.fields import Choice, Id, Text
from orders.bodies.statements import AmendmentIn, StatementIn, statement
from orders.costs.services.posting import order_fund
from orders.crews.selectors import crew_get
from orders.planning.models import Visit
from orders.supplies.models import LIMIT_KINDS
from orders.workorders.models import CloseOut, LimitOverride, WorkOrder
from orders.workorders.selectors import order_visit_get
from orders.workorders.services import order_override_add, visit_not_done


class FundingIn(Body):
    shares = many(ShareIn, most=20)


class ReassignIn(Because):
    crew = Id()


class OverrideIn(Because):
    limit_kind = Choice(LIMIT_KINDS, help_text="label-mandatory is always refused.")
    limit = Text(max_length=300, help_text="As the refusal named it.")
    reason = Text(max_length=300)


class Funding(OrderEndpoint):
    endpoint = "work-order-funding"

    @edits(OrderOut, body=FundingIn, conflicts=True)
    def put(self, order_id: Any) -> OrderWith:
        """Say who pays for a draft; the shares add up to the whole."""
        order = self.order(order_id)
        expected = self.version_named(self.with_all(order))
        order_fund(order=order, shares=fund_shares(self.body["shares"]), expected=expected, stamp=self.stamp())
        return self.with_all(order)


class Issue(OrderEndpoint):
    endpoint = "work-order-issue"

    @writes(OrderRow, status=200)
    def post(self, order_id: Any) -> WorkOrder:
        """Give the order to its crew, once checklist, licenses, label and funding allow it."""
        return flow.issue_order(order=self.order(order_id), stamp=self.stamp())


class Start(OrderEndpoint):
    endpoint = "work-order-start"

    @writes(OrderRow, status=200)
    def post(self, order_id: Any) -> WorkOrder:
        """The crew is on site."""
        return flow.start_order(order=self.order(order_id), stamp=self.stamp())


class Close(OrderEndpoint):
    endpoint = "work-order-close"

    @writes(CloseOutOut, body=StatementIn)
    def post(self, order_id: Any) -> CloseOut:
        """Close the order with the crew lead's statement of what was done."""
        return flow.close_order(order=self.order(order_id), statement=statement(self.body), stamp=self.stamp())


class Amend(OrderEndpoint):
    endpoint = "work-order-amend"

    @writes(CloseOutOut, body=AmendmentIn)
    def post(self, order_id: Any) -> CloseOut:
        """State the close-out anew, with the reason. The old one stays and is pointed at."""
        stated, stamp = statement(self.body), self.stamp(self.body["reason"])
        return corrections.amend_close_out(order=self.order(order_id), statement=stated, stamp=stamp)


class Void(OrderEndpoint):
    endpoint = "work-order-void"

    @writes(OrderRow, body=Because, status=200)
    def post(self, order_id: Any) -> WorkOrder:
        """Nothing will be done on it: its work is asked for again."""
        return corrections.void_order(order=self.order(order_id), stamp=self.stamp(self.body["reason"]))


class Restore(OrderEndpoint):
    endpoint = "work-order-restore"

    @writes(OrderRow, body=Because, status=200)
    def post(self, order_id: Any) -> WorkOrder:
        """A void order stands again: its crew worked on it before it heard. Refused where its work is taken."""
        return corrections.restore_order(order=self.order(order_id), stamp=self.stamp(self.body["reason"]))


class Reassign(OrderEndpoint):
    endpoint = "work-order-reassign"

    @writes(OrderRow, body=ReassignIn, status=200, names_others=True)
    def post(self, order_id: Any) -> WorkOrder:
        """Another crew takes an order that was not started."""
        order, crew = self.order(order_id), crew_get(self.body["crew"])
        return corrections.reassign_order(order=order, crew=crew, stamp=self.stamp(self.body["reason"]))


class Overrides(OrderEndpoint):
    endpoint = "work-order-overrides"

    @writes(OverrideOut, body=OverrideIn)
    def post(self, order_id: Any) -> LimitOverride:
        """Let the order go beyond an advisory or program limit, with name and reason. Never beyond a mandatory one."""
        order, stamp = self.order(order_id), self.stamp(self.body.pop("reason"))
        return order_override_add(order=order, stamp=stamp, **self.body)


class VisitNotDone(OrderEndpoint):
    endpoint = "work-order-visit-not-done"

    @writes(OrderVisitOut, body=Because, status=200)
    def post(self, order_id: Any, visit_id: Any) -> Visit:
        """Call a visit off: rain, a sick crew, a locked gate."""
        order = self.order(order_id)
        visit = order_visit_get(order, visit_id)
        return visit_not_done(order=order, visit=visit, stamp=self.stamp(self.body["reason"]))
