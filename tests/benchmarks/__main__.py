"""python -m tests.benchmarks NAME [numbers]: estimate, explain, export, growth or season_range."""

import sys

from tests.benchmarks import estimate, explain, export, growth, season_range

BENCHMARKS = {
    "estimate": estimate.run,
    "explain": explain.run,
    "export": export.run,
    "growth": growth.run,
    "season_range": season_range.run,
}


def main(words):
    if not words or words[0] not in BENCHMARKS:
        sys.exit(f"python -m tests.benchmarks NAME, where NAME is one of {', '.join(BENCHMARKS)}")
    BENCHMARKS[words[0]](*(int(word.replace("_", "")) for word in words[1:]))


if __name__ == "__main__":
    main(sys.argv[1:])
