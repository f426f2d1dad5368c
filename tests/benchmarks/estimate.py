"""Estimates of a large program: against the same formulas by hand in numpy, and against a loop over rows.

`python -m tests.benchmarks estimate [patches] [patches of the loop] [rounds]`
"""

from tests.benchmarks import made
from tests.benchmarks.compared import RELATIVE, apart_by, differences, ours
from tests.benchmarks.reference import reference
from tests.benchmarks.row_loop import loop, rows_of
from tests.benchmarks.timing import best_seconds

PATCHES, LOOPED, ROUNDS = 100_000, 500, 7


def run(patches=PATCHES, looped=LOOPED, rounds=ROUNDS):
    """Check that all agree, then print seconds and ratios."""
    case = made.case(patches)
    worst = max(differences(case.estimate(), reference(case)).values())
    assert worst <= RELATIVE, f"the reference differs by {worst:.1e}"
    rows = rows_of(case, looped)
    told = loop_difference(loop(case, rows), ours(case.estimate()), looped)
    assert told <= RELATIVE, f"the loop differs by {told:.1e}"
    best = best_seconds(rounds, ours=case.estimate, reference=lambda: reference(case), loop=lambda: loop(case, rows))
    ours_us, loop_us = best["ours"] / patches * 1e6, best["loop"] / looped * 1e6
    print(f"{patches:,} patches ({len(case.components):,} components) x {len(made.METHODS)} methods")
    print(f"  all figures and the hours by step agree within {worst:.1e} (asserted: {RELATIVE:.0e})")
    print(f"  by hand in numpy   {best['reference']:7.3f} s   best of {rounds} alternating rounds")
    print(
        f"  estimate()         {best['ours']:7.3f} s   {best['ours'] / best['reference']:.2f} x by hand (wanted: 1.5)"
    )
    print(f"  per patch          {ours_us:7.2f} us; a loop over rows {loop_us:,.0f} us (on {looped:,} patches)")
    print(f"  the loop takes     {loop_us / ours_us:7.0f} x estimate() (wanted: 100)")


def loop_difference(figures, found, looped):
    """Largest relative difference between the loop's jobs and the arrays; both must leave out the same jobs."""
    worst = 0.0
    for number, job in enumerate(figures):
        method, patch = divmod(number, looped)
        told = job or {"hours": float("nan")}
        worst = max(worst, *(apart_by(found[name][method, patch], value) for name, value in told.items()))
    return worst
