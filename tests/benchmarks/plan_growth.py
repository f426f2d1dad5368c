"""`python -m tests.benchmarks.plan_growth [--seconds 20]`: how time and gap grow from 200 to 10,000 visits.

Seconds are of the processor, so that others may use the machine too.
"""

import argparse
import time

from estimating.plan_arrays import plan_arrays
from estimating.plan_board import Board
from estimating.plan_bound import bounds
from estimating.plan_search import Search
from estimating.schedule import lost_cents
from tests.benchmarks.plan import dollars, planned
from tests.benchmarks.plan_instances import instance, plan_input

SIZES = (200, 500, 1_000, 2_000, 5_000, 10_000)


def started(facts):
    """Seconds of reading the facts and of the greedy start."""
    begun = time.process_time()
    arrays = plan_arrays(facts)
    read = time.process_time()
    Search(Board(arrays), 1).begin()
    return read - begun, time.process_time() - read


def bound_by(facts, end):
    """The best bound by a moment of the processor's clock, or the first; and the seconds it took."""
    begun = time.process_time()
    for bound in bounds(facts):
        if time.process_time() >= end:
            return bound.least_cents, time.process_time() - begun
    raise AssertionError("bounds have no end")


def line(visits, seconds):
    """Print one size."""
    facts = plan_input(instance(visits))
    read, greedy = started(facts)
    plan, heard = planned(facts, seconds, 1, time.process_time)
    cost, begun = lost_cents(facts, plan), time.process_time()
    least, bound_s = bound_by(facts, begun + seconds)
    gap, rate = 100 * (cost - least) / cost, plan.rounds / seconds
    print(
        f"{visits:6,} {len(facts.crews):5} {read:6.2f} {greedy:8.2f} {dollars(heard.costs[0][1]):>12} "
        f"{dollars(cost):>12} {rate:8,.0f} {dollars(least):>12} {bound_s:7.1f} {gap:6.1f}",
        flush=True,
    )


def main():
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20)
    seconds = parser.parse_args().seconds
    print("visits crews read s greedy s   start cost         cost rounds/s        bound bound s  gap %")
    for visits in SIZES:
        line(visits, seconds)


if __name__ == "__main__":
    main()
