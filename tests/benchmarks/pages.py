"""python -m tests.benchmarks.pages [--most 20] [--only WORD] [--out FILE]: every page that opens by GET,
with real ids from the database of DATA_DIR or DATABASE_URL, asked by whoever may open it.

Prints for each page the milliseconds of the server (half of the requests, 95 of 100; the processor's own of half,
which a busy machine does not lengthen), queries, kilobytes of HTML and
over the wire (HTML, styles and modules, each compressed; the map's files apart), and marks what is beyond the figures:
200 ms, 150 kB. What has no row to show is named at the end. People judge; no test goes by time.
"""

import argparse
import gc
import json
import os
import sys
import time
from collections import Counter
from pathlib import Path

MOST_MS, MOST_KB = 200, 150
NOT_DESK = ("admin/", "api/", "tablet/", "calendar/", "login/", "logout/")
ASKERS = ("coordinator", "finance", "supervisor", "administrator", "lead.hollow")
# A page as it is used most: later pages, other sorts and the other pictures, beside the bare address.
ALSO = {
    "patches": ("?page=2", "?sort=-area", "?recommended=cut-stem", "?text=HA"),
    "estimates": ("?page=2", "?sort=-cost", "?sort=patch"),
    "orders": ("?page=2", "?sort=site", "?state=closed"),
    "season-calendar": ("?show=load", "?show=cost", "?by=patch"),
    "season-windows": ("?page=2",),
    "records": ("?page=2",),
    "deadlines": ("?page=2",),
    "cost-report": ("?by=site&and=method", "?by=month"),
}


def main():
    """Ask each page some times, keep the figures where `--out` says, and tell."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--most", type=int, default=20)
    parser.add_argument("--only", default="")
    parser.add_argument("--out", default="")
    asked = parser.parse_args()
    told, without = [], []
    for name, route, names in _pages():
        if asked.only and asked.only not in name:
            continue
        figures = _figures(name, route, names, asked.most)
        (without.append(f"{name}: {figures}") if isinstance(figures, str) else told.extend(figures))
        if asked.out:  # page by page: all of them take long, and may be ended before
            Path(asked.out).write_text(json.dumps(told, indent=1))
    for row in sorted(told, key=lambda row: -row["p95"]):
        print(_line(row))
    print(f"\n{len(told)} pages; beyond {MOST_MS} ms: {sum(row['p95'] > MOST_MS for row in told)}, ", end="")
    print(f"beyond {MOST_KB} kB: {sum(row['wire_kb'] > MOST_KB for row in told)}")
    print("\n".join(without))


def _line(row):
    marks = ("SLOW " if row["p95"] > MOST_MS else "") + ("BIG " if row["wire_kb"] > MOST_KB else "")
    states = "" if set(row["states"]) == {"200"} else f" {row['states']}"
    times = f"{row['p50']:7.0f} {row['p95']:7.0f} ms {row['cpu']:6.0f} of its own"
    sizes = f"{row['html_kb']:6.0f} kB {row['wire_kb']:6.1f} wire"
    return f"{row['page']:44} {times} {row['queries']:4d} queries {sizes} {row['asks']:3d}x {marks}{states}"


def _pages():
    """Name, route and names of ids of every address of the desk."""
    from orders.desk.urls import urlpatterns

    for pattern in urlpatterns:
        route = str(pattern.pattern)
        if not route.startswith(NOT_DESK):
            yield pattern.name, route, list(pattern.pattern.regex.groupindex)


def _figures(name, route, names, most):
    """The page's figures, one for each of its usual addresses; words where nothing can be asked."""
    from django.urls import reverse

    from tests.benchmarks.page_ids import page_words

    words = page_words(name, names, most)
    if not words:
        return f"no row for {names}" if words is not None else f"its id {names} is not known here"
    addresses = [reverse(name, kwargs=one) for one in words]
    client, state = _client_for(addresses[0])
    if client is None:
        return f"answers {state} to a GET"
    gc.collect()
    gc.freeze()  # a server does, of what it has loaded (deploy/wsgi.py)
    found = []
    for tail in ("", *ALSO.get(name, ())):
        asks = [address + tail for address in addresses]
        while len(asks) < min(most, 5):  # a page without ids is asked some times too
            asks += [asks[0]]
        found.append(_measured(client, f"{name}{tail}", asks))
    return found


def _client_for(address):
    """A client of the first of the demo's people who may open it."""
    from django.contrib.auth import get_user_model
    from django.test import Client

    state = 0
    for username in ASKERS:
        client = Client(raise_request_exception=False, SERVER_NAME="localhost")
        client.force_login(get_user_model().objects.get(username=username))
        state = client.get(address).status_code
        if state in (200, 302, 500):
            return client, state
    return None, state


def _measured(client, page, addresses):
    from django.db import connection

    from tests.benchmarks.page_bytes import sizes

    seconds: list[float] = []
    own: list[float] = []
    states: Counter[str] = Counter()
    queries, last = 0, None
    for address in addresses:
        count: Counter[str] = Counter()
        with connection.execute_wrapper(lambda run, *args, count=count: (count.update(["all"]), run(*args))[1]):
            begun, worked = time.perf_counter(), time.process_time()
            reply = client.get(address)
            body = b"".join(reply.streaming_content) if reply.streaming else reply.content
            seconds.append(time.perf_counter() - begun)
            own.append(time.process_time() - worked)
        states[str(reply.status_code)] += 1
        queries = max(queries, count["all"])
        if last is None or len(body) > len(last):
            last = body
    seconds.sort()
    own.sort()
    html_kb, wire_kb = sizes(last)
    return {
        "page": page,
        "p50": seconds[len(seconds) // 2] * 1000,
        "p95": seconds[min(len(seconds) - 1, int(len(seconds) * 0.95))] * 1000,
        "cpu": own[len(own) // 2] * 1000,
        "queries": queries,
        "html_kb": html_kb,
        "wire_kb": wire_kb,
        "asks": len(seconds),
        "states": dict(states),
    }


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import deploy.wsgi  # noqa: F401  as it is served

    sys.exit(main())
