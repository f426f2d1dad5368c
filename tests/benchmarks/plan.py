"""`python -m tests.benchmarks.plan --instance FILE --seconds 60 --out PLAN.json [--seed 1]`: one season planned by the
clock. The search has one core; the bound is found beside it by a second process, as two background jobs would.

Reads the form that `plan_instances` tells of, writes the plan as a list of [visit, crew, day] by number, and prints the
cost at the start and at 10, 30 and 60 seconds, the bound and the gap.
"""

import argparse
import json
import multiprocessing
import os
import time
from pathlib import Path

from estimating.plan_bound import bounds
from estimating.plan_check import check_plan
from estimating.schedule import lost_cents, schedule
from tests.benchmarks.plan_instances import plan_input, rows

MARKS = (10, 30, 60, 120, 360)
NO_END = 10**9
CLOCKS = {"wall": time.perf_counter, "cpu": time.process_time}


def bound_within(facts, seconds, clock, found):
    """Send the best bound after so many seconds, and the seconds and rounds it took."""
    begun = clock()
    for bound in bounds(facts):
        taken = clock() - begun
        if taken >= seconds:
            found.put((bound.least_cents, bound.rounds, taken))
            return


class Heard:
    """Costs as the search tells them, by the clock."""

    def __init__(self, seconds, clock=time.perf_counter):
        self.clock, self.begun, self.seconds, self.costs = clock, clock(), seconds, []

    def told(self, cents):
        self.costs.append((self.clock() - self.begun, cents))

    def pace(self, done):
        return (self.clock() - self.begun) / self.seconds

    def at(self, seconds):
        """The best cost after so many seconds."""
        return min(cents for taken, cents in self.costs if taken <= seconds or cents == self.costs[0][1])


def planned(facts, seconds, seed, clock=time.perf_counter):
    """A plan within some seconds, and what was heard on the way."""
    heard = Heard(seconds, clock)
    plan = schedule(facts, NO_END, seed=seed, pace=heard.pace, told=heard.told)
    return plan, heard


def dollars(cents):
    """Cents as whole dollars for a table."""
    return f"{cents / 100:,.0f}"


def report(facts, plan, heard, bound):
    """Print what was found."""
    print(
        f"{len(facts.visits)} visits, {len(facts.crews)} crews, {len(facts.days)} days; load {os.getloadavg()[0]:.1f}"
    )
    print(f"start cost {dollars(heard.costs[0][1])} after {heard.costs[0][0]:.1f} s")
    for mark in MARKS:
        if mark <= heard.seconds:
            print(f"cost at {mark} s: {dollars(heard.at(mark))}")
    cost = lost_cents(facts, plan)
    print(f"cost {dollars(cost)}; {len(plan.assignments)} visits made; {plan.rounds:,} rounds in {heard.seconds:.0f} s")
    print(f"worked and driven {dollars(plan.cost_cents)}; faults {len(check_plan(facts, plan))}")
    if bound:
        least, rounds, taken = bound
        print(f"bound {dollars(least)} after {taken:.0f} s and {rounds} rounds; gap {100 * (cost - least) / cost:.1f}%")


def main():
    """Plan an instance and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--instance", required=True, type=Path)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-bound", action="store_true")
    parser.add_argument(
        "--clock", choices=CLOCKS, default="wall", help="cpu: seconds of the processor, where others work"
    )
    asked = parser.parse_args()
    clock = CLOCKS[asked.clock]
    facts = plan_input(json.loads(asked.instance.read_text()))
    context = multiprocessing.get_context("spawn")
    found = context.Queue()
    beside = context.Process(target=bound_within, args=(facts, asked.seconds, clock, found), daemon=True)
    if not asked.no_bound:
        beside.start()
    plan, heard = planned(facts, asked.seconds, asked.seed, clock)
    if asked.out:
        asked.out.write_text(json.dumps(rows(plan)))
    report(facts, plan, heard, None if asked.no_bound else found.get())


if __name__ == "__main__":
    main()
