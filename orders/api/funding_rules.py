"""Who pays what no hand has split: rules by site, method and code of paid time. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OfWord
from orders.api.funding import ShareIn, ShareOut, fund_shares
from orders.api.operations import edits, shows, writes
from orders.api.order_writes import FundingIn
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, SiteRef, VersionedRow
from orders.api.work_orders import OrderEndpoint
from orders.bodies.base import Because, Body, many
from orders.bodies.fields import Day, Id, Text
from orders.costs.fund_selectors import funding_rule_get, funding_rules
from orders.costs.services.funding import funding_rule_add, funding_rule_edit, funding_rule_remove
from orders.costs.services.posting import order_fund_by_rule
from orders.costs.services.splitting import order_split_again
from orders.sites.selectors import site_get

MOST_SHARES = 20


class FundingRuleOut(VersionedRow):
    name = serializers.CharField()
    from_day = serializers.DateField()
    last_day = serializers.DateField(allow_null=True)
    site = SiteRef(allow_null=True)
    method_code = serializers.CharField(help_text="Empty: every method.")
    work_code = serializers.CharField(help_text="Of paid time that is no order; empty for orders.")
    shares = ShareOut(many=True)


class FundingRuleEdit(Body):
    name = Text(max_length=80, required=False)
    from_day = Day(required=False)
    last_day = Day(required=False, allow_null=True)
    site = Id(required=False, allow_null=True)
    method_code = Text(max_length=20, allow_blank=True, required=False)
    work_code = Text(max_length=10, allow_blank=True, required=False)
    shares = many(ShareIn, most=MOST_SHARES, required=False)


class FundingRuleIn(FundingRuleEdit):
    name = Text(max_length=80)
    from_day = Day()
    shares = many(ShareIn, most=MOST_SHARES)


class FundingRuleFilter(Filters):
    site = OfId(field_name="site__public_id")
    work_code = OfWord()
    method_code = OfWord()


class _Rule(Endpoint):
    def told(self) -> dict[str, Any]:
        """The body with its rows looked up."""
        told = dict(self.body)
        if told.get("site"):
            told["site"] = site_get(told["site"])
        if "shares" in told:
            told["shares"] = fund_shares(told["shares"])
        return told


class FundingRules(ListEndpoint, _Rule):
    endpoint = "funding-rules"
    row = FundingRuleOut
    filters = FundingRuleFilter
    sorts = {"id": "id", "from_day": "from_day", "name": "name"}

    def rows(self) -> QuerySet[Any]:
        """Of several rules that fit, the one that says most counts, then the newest."""
        return funding_rules(self.actor)

    @writes(FundingRuleOut, body=FundingRuleIn, names_others=True, located_at="funding-rule")
    def post(self) -> Any:
        """Add a rule; its shares add up to 10,000."""
        rule = funding_rule_add(stamp=self.stamp(), **self.told())
        return funding_rule_get(self.actor, rule.public_id)


class FundingRuleOne(_Rule):
    endpoint = "funding-rule"

    @shows(FundingRuleOut)
    def get(self, funding_rule_id: Any) -> Any:
        """One funding rule."""
        return funding_rule_get(self.actor, funding_rule_id)

    @edits(FundingRuleOut, body=FundingRuleEdit, names_others=True)
    def patch(self, funding_rule_id: Any) -> Any:
        """Change what it fits or who pays; what was posted by it stays."""
        rule = funding_rule_get(self.actor, funding_rule_id)
        expected, values = self.version_named(rule), self.told()
        shares = values.pop("shares", None)
        funding_rule_edit(rule=rule, values=values, shares=shares, expected=expected, stamp=self.stamp())
        return funding_rule_get(self.actor, funding_rule_id)


class FundingRuleRemove(Endpoint):
    endpoint = "funding-rule-remove"

    @writes(FundingRuleOut, body=Because, status=200)
    def post(self, funding_rule_id: Any) -> Any:
        """Take it away, with the reason; the reply shows what it was."""
        rule = funding_rule_get(self.actor, funding_rule_id)
        funding_rule_remove(rule=rule, expected=rule.version, stamp=self.stamp(self.body["reason"]))
        return rule


class SharesOut(Out):
    results = ShareOut(many=True)


class OrderFundByRule(OrderEndpoint):
    endpoint = "work-order-fund-by-rule"

    @writes(SharesOut, status=200)
    def post(self, order_id: Any) -> Any:
        """Fund a draft by the rule that fits its site and method."""
        return {"results": order_fund_by_rule(order=self.order(order_id), stamp=self.stamp())}


class SplitAgainIn(FundingIn, Because):
    """The shares, and why."""


class OrderSplitAgain(OrderEndpoint):
    endpoint = "work-order-split-again"

    @writes(SharesOut, body=SplitAgainIn, status=200, names_others=True)
    def post(self, order_id: Any) -> Any:
        """Say anew who pays an issued or closed order: what was posted and committed moves, in the open period."""
        rows = order_split_again(
            order=self.order(order_id),
            shares=fund_shares(self.body["shares"]),
            posted_on=self.today,
            stamp=self.stamp(self.body["reason"]),
        )
        return {"results": rows}
