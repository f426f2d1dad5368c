"""How cost and memory of an estimate grow with the patches, each size in a process of its own.

`python -m tests.benchmarks growth [patches ...]`
"""

import json
import subprocess
import sys

from tests.benchmarks import made
from tests.benchmarks.timing import best_seconds, peak_memory_bytes

SIZES = (10_000, 30_000, 100_000, 300_000, 1_000_000)
ROUNDS = 3


def run(*sizes):
    """Print seconds and memory by size, and per patch: flat where growth is linear."""
    print(
        f"patches x {len(made.METHODS)} methods; seconds of one estimate, best of {ROUNDS}; peak memory of the process"
    )
    for size in sizes or SIZES:
        told = _apart(size)
        patches_us = told["seconds"] / size * 1e6
        held = told["peak_bytes"] - told["facts_bytes"]
        print(
            f"{size:>9,} patches: {told['seconds']:7.2f} s, {patches_us:6.2f} us a patch; "
            f"{told['peak_bytes'] / 1e9:6.2f} GB at most, of which {held / 1e9:6.2f} GB for the estimate, "
            f"{held / size / len(made.METHODS):6.0f} bytes a patch and method"
        )


def _apart(size):
    command = [sys.executable, "-m", "tests.benchmarks.growth", str(size)]
    reply = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return json.loads(reply)


def measured(size):
    """Figures of one size; memory before the estimate is that of the facts and of Python itself."""
    case = made.case(size)
    facts_bytes = peak_memory_bytes()
    best = best_seconds(ROUNDS, estimate=case.estimate)
    return {"seconds": best["estimate"], "facts_bytes": facts_bytes, "peak_bytes": peak_memory_bytes()}


if __name__ == "__main__":
    print(json.dumps(measured(int(sys.argv[1]))))
