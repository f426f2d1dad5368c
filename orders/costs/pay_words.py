"""The words of the rules of pay, as (code, name), for whoever may not read their tables."""

from orders.costs.models import MatchRate, PayPolicy

MATCH_KIND_WORDS = list(MatchRate.KINDS)
METHOD_WORDS = list(PayPolicy.METHODS)
ROUNDING_WORDS = list(PayPolicy.ROUNDINGS)
SPREAD_WORDS = list(PayPolicy.SPREADS)
