"""How much memory a file of a report takes, by the number of its rows: it should not grow with them.

`python -m tests.benchmarks export [rows …]`
"""

import subprocess
import sys
from pathlib import Path

ROWS = (10_000, 100_000, 1_000_000)
MOST_PDF_ROWS = 50_000  # a longer one is refused
ROOT = Path(__file__).resolve().parents[2]


def run(*rows):
    """Print the peak of resident memory for each format and number of rows, each in a process of its own."""
    for file_format in ("csv", "xlsx"):
        for count in rows or ROWS:
            _one(file_format, count)
    for count in sorted({min(count, MOST_PDF_ROWS) for count in rows or ROWS}):
        _one("pdf", count)


def _one(file_format, count):
    code = f"from tests.benchmarks.export_one import one; one({file_format!r}, {count})"
    command = [sys.executable, "manage.py", "shell", "--no-imports", "-c", code]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    told, before, peak, size, seconds = done.stdout.split()
    print(
        f"{file_format:4} {int(told):>9,} rows: peak {int(peak) / 1024:5.0f} MiB, {int(before) / 1024:.0f} MiB of it"
        f" before the first row; file {int(size) / 1e6:.1f} MB; {seconds} s",
        flush=True,
    )
