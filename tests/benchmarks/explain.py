"""Explanations of all jobs of a program: together, and one by one, which is how they must not be made.

`python -m tests.benchmarks explain [patches] [jobs one by one] [rounds]`
"""

import json

from estimating.explain import explain, explain_all
from tests.benchmarks import made
from tests.benchmarks.timing import best_seconds
from tests.estimating.alike import RELATIVE, alike

PATCHES, ALONE, ROUNDS = 1_000, 400, 3


def run(patches=PATCHES, alone=ALONE, rounds=ROUNDS):
    """Check that both give the same, then print seconds and milliseconds a job."""
    case = made.case(patches)
    result = case.estimate()
    jobs = len(result.jobs)
    some = range(0, jobs, max(1, jobs // alone))
    pairs = zip(explain_all(result, some), (explain(result, job) for job in some), strict=True)
    assert all(alike(*pair) for pair in pairs), "together and alone differ"
    best = best_seconds(
        rounds,
        estimate=case.estimate,
        together=lambda: explain_all(result, range(jobs)),
        alone=lambda: [explain(result, job) for job in some],
    )
    size = len(json.dumps(explain_all(result, some))) / len(some)
    together_ms, alone_ms = best["together"] / jobs * 1e3, best["alone"] / len(some) * 1e3
    print(f"{patches:,} patches x {len(made.METHODS)} methods = {jobs:,} jobs, {size / 1e3:.1f} kB of JSON each")
    print(f"  {len(some):,} jobs agree within {RELATIVE:.0e}; best of {rounds} alternating rounds")
    print(f"  estimate()     {best['estimate']:7.3f} s")
    print(f"  explain_all()  {best['together']:7.3f} s   {together_ms:6.3f} ms a job")
    print(f"  one by one     {best['alone'] / len(some) * jobs:7.3f} s   {alone_ms:6.3f} ms a job, from {len(some):,}")
    print(f"  together is    {alone_ms / together_ms:7.1f} x as fast")
