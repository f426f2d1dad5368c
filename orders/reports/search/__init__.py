"""One search over all that a reader may open."""

from orders.reports.search.finding import Found, searched
from orders.reports.search.hits import Hit
from orders.reports.search.kinds import KINDS

__all__ = ["KINDS", "Found", "Hit", "searched"]
