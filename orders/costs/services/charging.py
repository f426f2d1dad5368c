"""Who pays a cost: by the order's split, by a rule, or nobody yet."""

from collections.abc import Sequence

from orders.costs.models import Fund, OrderFunding
from orders.costs.services.entries import WHOLE_E4, Cost, Payer


def payers_of(cost: Cost, funding: Sequence[OrderFunding], suspense: Fund) -> list[Payer]:
    """By the order's split. What an award may not take, since the day is outside its period, waits in suspense."""
    if not funding:
        return [Payer(suspense, None, WHOLE_E4)]
    payers = []
    for row in funding:
        taken = row.award is None or row.award.first_day <= cost.work_date <= row.award.last_day
        payers.append(Payer(row.fund, row.award, row.share_e4) if taken else Payer(suspense, None, row.share_e4))
    return payers
