"""The work package: all that a crew needs for its orders without a signal, as plain values.

No rate of pay, price, cost or fund is in it: what is on a tablet that is lost is known to whoever finds it.
"""

from orders.tablet.package.whole import PAYLOAD_VERSION, work_package

__all__ = ["PAYLOAD_VERSION", "work_package"]
