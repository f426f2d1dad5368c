"""What a crew carries of its orders, as plain values: on a tablet that has no signal, and on paper.

No rate of pay, price, cost or fund is in it: what is on a tablet that is lost is known to whoever finds it.
"""

from orders.carried.whole import PAYLOAD_VERSION, work_package

__all__ = ["PAYLOAD_VERSION", "work_package"]
