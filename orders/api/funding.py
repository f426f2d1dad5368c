"""Who pays an order: shares of funds and awards, in 1/10,000. Shared by the orders and by the plan that drafts them."""

from collections.abc import Iterable, Mapping
from typing import Any

from rest_framework import serializers

from orders.api.shapes import Out
from orders.bodies.base import Body
from orders.bodies.fields import Id, Whole
from orders.costs.selectors import award_get, fund_get
from orders.costs.services.entries import Payer


class ShareIn(Body):
    fund = Id()
    award = Id(required=False, allow_null=True)
    share_e4 = Whole(min_value=1, max_value=10_000, help_text="In 1/10,000; the shares add up to 10,000.")


class ShareOut(Out):
    fund = serializers.UUIDField(source="fund.public_id")
    fund_code = serializers.CharField(source="fund.code")
    award = serializers.UUIDField(source="award.public_id", allow_null=True)
    share_e4 = serializers.IntegerField()


def fund_shares(named: Iterable[Mapping[str, Any]]) -> list[Payer]:
    return [
        Payer(
            fund=fund_get(share["fund"]),
            award=award_get(share["award"]) if share.get("award") else None,
            share_e4=share["share_e4"],
        )
        for share in named
    ]
