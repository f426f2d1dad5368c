"""What the nightly proof looks at: one small function a check. Each yields what is wrong, by key or number; nothing is
right.

To add one: a function without arguments in one of the modules of this package, decorated with its code and what it
holds. A new module is named here, so that its checks join the list.
"""

from orders.costs.proofs import rows, settled, sources
from orders.costs.proofs.check import CHECKS, Check

__all__ = ["CHECKS", "Check", "rows", "settled", "sources"]
