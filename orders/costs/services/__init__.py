"""Every write of this stage."""

from orders.costs.services.masters import award_add, fund_add, pay_rate_set

__all__ = ["award_add", "fund_add", "pay_rate_set"]
