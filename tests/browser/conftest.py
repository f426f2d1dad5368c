"""A served site and Debian's Chromium. What a page writes to the console or asks of another host fails the test."""

import os
from collections.abc import Iterator

import pytest
from django.db import connection
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, ViewportSize, expect, sync_playwright

from tests import build
from tests.browser.connections import Connections
from tests.browser.pages import PAGES, Shown
from tests.browser.tablet import tablet, tablets, world
from tests.desk.pages.books import Books, books_made

CHROMIUM = os.environ.get("FENCEROW_CHROMIUM", "/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
expect.set_options(timeout=15_000)  # a busy machine is slow, not wrong
__all__ = ["tablet", "tablets", "world"]  # fixtures of their own file
DESKTOP = ViewportSize(width=1440, height=900)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A database for each worker; on SQLite a file: the server's threads then have connections of their own, as they
    have in production."""
    if connection.vendor == "sqlite":
        connection.settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("browser") / "test.sqlite3")


@pytest.fixture(scope="session")
def connections(live_server) -> Connections:
    return Connections(live_server.thread.httpd)


@pytest.fixture(autouse=True)
def _all_is_answered(request: pytest.FixtureRequest) -> Iterator[None]:
    """Before the database is cleared, and after the browser is closed."""
    open_ones = request.getfixturevalue("connections") if "live_server" in request.fixturenames else None
    yield
    if open_ones is not None:
        open_ones.end()


@pytest.fixture(scope="session")
def player() -> Iterator[Playwright]:
    with sync_playwright() as playwright:
        # Playwright runs an event loop in this thread, which Django takes for asynchronous code.
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
        yield playwright
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture(scope="session")
def chromium(player: Playwright) -> Iterator[Browser]:
    browser = player.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    yield browser
    browser.close()


@pytest.fixture
def books(transactional_db: None) -> Books:
    return books_made()


@pytest.fixture
def context(chromium: Browser, live_server) -> Iterator[BrowserContext]:
    made = chromium.new_context(base_url=live_server.url, viewport=DESKTOP, accept_downloads=True)
    made.set_default_timeout(10_000)
    yield made
    made.close()


@pytest.fixture
def complaints() -> list[str]:
    """A test that provokes a complaint empties the list."""
    return []


@pytest.fixture
def page(context: BrowserContext, live_server, complaints: list[str]) -> Iterator[Page]:
    opened = context.new_page()
    opened.on("console", lambda said: complaints.append(said.text) if said.type in {"error", "warning"} else None)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on(
        "request",
        lambda asked: None if asked.url.startswith(live_server.url) else complaints.append(f"asked {asked.url}"),
    )
    yield opened
    assert complaints == []


@pytest.fixture
def enter(context: BrowserContext, live_server):
    """Log a new person in without the form: the session's cookie is handed to the browser."""

    def entered(*roles: str, **more):
        user = build.UserFactory(roles=roles, **more)
        client = Client()
        client.force_login(user)
        cookie = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
        return user

    return entered


@pytest.fixture(params=PAGES, ids=lambda shown: shown.name)
def shown(request, page: Page, enter, complaints: list[str], transactional_db: None) -> Shown:
    """Each page in turn, open in the browser. That an error page comes with its status is no complaint."""
    one: Shown = request.param
    if one.roles:
        enter(*one.roles, username="viewer", first_name="Fay", last_name="Alder")
    page.goto(one.address())
    complaints[:] = [told for told in complaints if "Failed to load resource" not in told]
    return one
