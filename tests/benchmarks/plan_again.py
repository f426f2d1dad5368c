"""A plan after a small change: `python -m tests.benchmarks.plan_again --instance FILE [--seconds 20]` shows what moves.

Crew-days that hold at most 2% of the planned visits are lost to rain; the season is planned again from the old plan.
Seconds are of the processor, so that others may use the machine too.
"""

import argparse
import json
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from estimating.plan_check import check_plan
from tests.benchmarks.plan import dollars, planned
from tests.benchmarks.plan_instances import plan_input

TOUCHED = 0.02


def rained_off(facts, plan, seed):
    """The season without some crew-days, and the visits that stood on them."""
    by_day: dict[tuple[str, date], list[str]] = {}
    for entry in plan.assignments:
        by_day.setdefault((entry.crew, entry.day), []).append(entry.visit)
    lost: dict[str, set[date]] = {}
    hit: list[str] = []
    for place in np.random.default_rng(seed).permutation(len(by_day)):
        (crew, day), visits = sorted(by_day.items())[place]
        if len(hit) + len(visits) > TOUCHED * len(plan.assignments):
            break
        lost.setdefault(crew, set()).add(day)
        hit += visits
    crews = tuple(replace(crew, days_off=crew.days_off | lost.get(crew.id, set())) for crew in facts.crews)
    return replace(facts, crews=crews, previous=plan.assignments), hit


def main():
    """Plan, lose some days, plan again."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--instance", required=True, type=Path)
    parser.add_argument("--seconds", type=float, default=20)
    asked = parser.parse_args()
    facts = plan_input(json.loads(asked.instance.read_text()))
    plan, _ = planned(facts, asked.seconds, 1, time.process_time)
    changed, hit = rained_off(facts, plan, 1)
    again, heard = planned(changed, asked.seconds, 2, time.process_time)
    others = len(plan.assignments) - len(hit)
    moved = len(set(again.moved) - set(hit))
    print(f"{len(plan.assignments)} visits planned; {len(hit)} lose their day")
    print(f"first plan after {heard.costs[0][0]:.1f} s")
    print(f"of {others} others {moved} move: {100 - 100 * moved / others:.1f}% stay")
    print(f"of the {len(hit)}, {len(set(hit) & {entry.visit for entry in again.assignments})} find another day")
    print(f"worth less cost before {dollars(plan.value_cents - plan.cost_cents)}", end=", ")
    print(f"after {dollars(again.value_cents - again.cost_cents)}; faults {len(check_plan(changed, again))}")


if __name__ == "__main__":
    main()
