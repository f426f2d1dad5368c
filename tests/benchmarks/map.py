"""python -m tests.benchmarks.map [port]: the map of the program that DATA_DIR names, as a browser gets and draws it.

Start from a big program (`python -m tests.benchmarks.big_program`). Prints bytes over the wire and server time of what
the map reads, and the frames of a real Chromium while the map is moved and zoomed. The frames of a browser without a
graphics card, on a machine that does other work too, are longer than those of a person's.
"""

import gzip
import os
import statistics
import subprocess
import sys
import time
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

CHROMIUM = os.environ.get("FENCEROW_CHROMIUM", "/usr/bin/chromium")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
ZOOMS_OF_OUTLINES = (12, 14, 16)
FRAMES = """() => {
  window.frames_seen = [];
  let before = performance.now();
  const next = (now) => {
    window.frames_seen.push(now - before);
    before = now;
    requestAnimationFrame(next);
  };
  requestAnimationFrame(next);
}"""


def main() -> int:
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    port = int(sys.argv[1]) if len(sys.argv) > 1 else 8615
    server = subprocess.Popen(
        [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"],
        env={**os.environ, "DEBUG": "1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _measure(f"http://127.0.0.1:{port}", _session())
    finally:
        server.terminate()
        server.wait()
    return 0


def _session() -> str:
    """A coordinator's, as after a login."""
    from django.test import Client

    from orders.common.models import User

    user = next(one for one in User.objects.filter(is_active=True) if one.has_role("coordinator"))
    client = Client()
    client.force_login(user)
    return client.cookies["sessionid"].value


def _measure(site: str, session: str) -> None:
    from django.core.cache import cache

    from orders.reports.ground.measures import MEASURES

    _wait(site)
    cache.clear()
    print(f"{'what':<34}{'ms':>8}{'bytes sent':>12}{'as JSON':>12}")
    _asked(site, session, "/map/", "page, nothing kept")
    _asked(site, session, "/map/", "page")
    for by in MEASURES:
        _asked(site, session, f"/map/patches.json?by={by}", f"patches by {by}")
    tag = _asked(site, session, "/map/patches.json", "patches by cover, nothing to send first")
    _asked(site, session, "/map/patches.json", "the same, known to the browser", tag)
    box = ",".join(f"{edge:.4f}" for edge in _box())
    for zoom in ZOOMS_OF_OUTLINES:
        _asked(site, session, f"/map/outlines.json?box={box}&zoom={zoom}", f"all outlines at zoom {zoom}")
    _drawn(site, session)


def _box() -> tuple[float, float, float, float]:
    from django.db.models import Max, Min

    from orders.sites.models import Survey

    edges = {"west": Min("min_lon"), "south": Min("min_lat"), "east": Max("max_lon"), "north": Max("max_lat")}
    found = Survey.objects.aggregate(**edges)
    return found["west"], found["south"], found["east"], found["north"]


def _wait(site: str) -> None:
    for _ in range(200):
        try:
            urlopen(f"{site}/login/", timeout=5).close()
            return
        except URLError:
            time.sleep(0.2)
    sys.exit("The server did not start.")


def _asked(site: str, session: str, path: str, what: str, tag: str = "") -> str:
    headers = {"Cookie": f"sessionid={session}", "Accept-Encoding": "gzip"} | ({"If-None-Match": tag} if tag else {})
    begun = time.perf_counter()
    try:
        with urlopen(Request(f"{site}{path}", headers=headers)) as reply:
            sent, found = reply.read(), reply.headers
    except HTTPError as error:  # 304, which urllib takes for an error
        sent, found = error.read(), error.headers
    spent = 1000 * (time.perf_counter() - begun)
    plain = gzip.decompress(sent) if found.get("Content-Encoding") == "gzip" else sent
    print(f"{what[:33]:<34}{spent:>8.0f}{len(sent):>12,}{len(plain):>12,}")
    return str(found.get("ETag", ""))


def _drawn(site: str, session: str) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        context = browser.new_context(viewport={"width": 1440, "height": 1200})
        context.add_cookies([{"name": "sessionid", "value": session, "url": site}])
        page = context.new_page()
        page.goto(f"{site}/map/")
        page.wait_for_selector("#map[data-drawn]")
        page.wait_for_timeout(1000)
        page.evaluate(FRAMES)
        _frames(page, "at rest", lambda _: page.wait_for_timeout(200))
        box = page.locator("#map").bounding_box()
        assert box is not None
        middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        _frames(page, "moved, all in sight", lambda turn: _drag(page, middle, turn))
        _frames(page, "zoomed, all in sight", lambda turn: _wheel(page, middle, turn))
        for _ in range(3):
            _wheel(page, middle, 0)
        page.wait_for_timeout(1500)
        _frames(page, "moved, zoomed in", lambda turn: _drag(page, middle, turn))
        browser.close()


def _drag(page, middle, turn):
    x, y = middle
    way = 1 if turn % 2 else -1
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 260 * way, y + 160 * way, steps=30)
    page.mouse.up()
    page.wait_for_timeout(150)


def _wheel(page, middle, turn):
    page.mouse.move(*middle)
    page.mouse.wheel(0, -120 if turn % 2 == 0 else 120)
    page.wait_for_timeout(600)


def _frames(page, what, act):
    page.evaluate("window.frames_seen.length = 0")
    for turn in range(8):
        act(turn)
    seen = sorted(page.evaluate("window.frames_seen"))
    middle, late = statistics.median(seen), seen[int(0.95 * (len(seen) - 1))]
    print(f"{what:<34}{len(seen)} frames: p50 {middle:.1f} ms, p95 {late:.1f} ms, longest {seen[-1]:.1f} ms")


if __name__ == "__main__":
    sys.exit(main())
