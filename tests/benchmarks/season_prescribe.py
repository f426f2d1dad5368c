"""python -m tests.benchmarks.season_prescribe [--prescribe]: a look at what is recommended for a whole season, in the
database of DATA_DIR or DATABASE_URL, as a worker does it; with `--prescribe` it is prescribed, so take a copy.

Prints patches, what was found, seconds of the look and of all, and the peak of memory. People judge; no test goes by
time.
"""

import argparse
import os
import resource
import sys
import time


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--prescribe", action="store_true")
    asked = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()
    from orders.common.clock import now
    from orders.common.models import User
    from orders.common.runs import run_claim, run_perform
    from orders.common.stamp import Stamp
    from orders.planning.prescribing import season_prescribe_ask
    from orders.planning.selectors import seasons

    season, by = seasons().first(), User.objects.filter(roles__code="coordinator").first()
    if season is None or by is None:
        sys.exit("There is no season, or nobody who coordinates.")
    purpose = "prescribe" if asked.prescribe else "look"
    run = season_prescribe_ask(season=season, purpose=purpose, stamp=Stamp(by=by, at=now()))
    attempt = run_claim(run, at=now())
    if attempt is None:
        sys.exit("Another run is at work here.")
    started, looked = time.monotonic(), []
    state = run_perform(
        run,
        attempt,
        clock=now,
        tell=lambda done, total, note: looked.append((done, total, time.monotonic() - started)),
    )
    seconds = time.monotonic() - started
    run.refresh_from_db()
    done, total, until = looked[-1]
    print(f"{purpose} {season}: {state}, {done:,} of {total:,} patches in {until:.1f} s, all in {seconds:.1f} s")
    print(f"found {run.found.get('counts')}, {run.made_count:,} prescriptions made with what follows them")
    print(f"memory at its peak {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024:,} MiB")


if __name__ == "__main__":
    main()
