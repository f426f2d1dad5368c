"""Seconds of several things in turn, best of several rounds, so that all meet the same machine."""

import gc
import time


def best_seconds(rounds, **things):
    """The best of so many rounds of each thing, by name; each is called once before, unmeasured."""
    for thing in things.values():
        thing()
    best = dict.fromkeys(things, float("inf"))
    for _ in range(rounds):
        for name, thing in things.items():
            gc.collect()
            begun = time.perf_counter()
            thing()
            best[name] = min(best[name], time.perf_counter() - begun)
    return best


def peak_memory_bytes():
    """Most memory that this process held so far, as the kernel counted it (Linux)."""
    with open("/proc/self/status", encoding="ascii") as status:
        line = next(line for line in status if line.startswith("VmHWM"))
    return int(line.split()[1]) * 1024
