"""Every write of this stage."""

from orders.costs.services.masters import award_add, fund_add
from orders.costs.services.pay_rates import (
    comp_time_agree,
    comp_time_end,
    match_rate_set,
    overtime_rule_set,
    pay_policy_set,
    pay_rate_set,
    stock_policy_set,
)

__all__ = [
    "award_add",
    "comp_time_agree",
    "comp_time_end",
    "fund_add",
    "match_rate_set",
    "overtime_rule_set",
    "pay_policy_set",
    "pay_rate_set",
    "stock_policy_set",
]
