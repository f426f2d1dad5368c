"""Flags: the list, one flag, a held close-out beside the one that stands, and settling."""

import html

import pytest

from orders.field.models import Command, Flag
from orders.workorders.models import CloseOut
from tests import build
from tests.api.scene import lead_of
from tests.browser.field_pages import held

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, address="/flags/"):
    return html.unescape(client.get(address).content.decode())


@pytest.mark.parametrize(
    ("query", "titles"),
    [
        ("", ["Drift", "Closed twice"]),
        ("?severity=urgent", ["Drift"]),
        ("?kind=held", ["Closed twice"]),
        ("?state=settled", ["Clock"]),
        ("?state=all&q=clo", ["Closed twice", "Clock"]),
        ("?site=HOLLOW", ["Drift"]),
    ],
)
def test_it_narrows_the_list(desk, query, titles):
    build.FlagFactory(title="Drift", severity="urgent", kind="deviation", site=build.SiteFactory(code="HOLLOW"))
    build.FlagFactory(title="Closed twice", kind="held")
    build.FlagFactory(title="Clock", state="settled", settled_at=build.NOW)
    page = shown(desk, f"/flags/{query}")
    assert [title for title in ("Drift", "Closed twice", "Clock") if f">{title}<" in page] == titles


def test_it_refuses_what_the_address_makes_up(desk):
    assert desk.get("/flags/?severity=huge").status_code == 400


def test_it_counts_what_is_open_in_the_head(desk):
    build.FlagFactory()
    build.FlagFactory(severity="note")
    assert ">1 open flag<" in shown(desk, "/products/")


def test_it_shows_a_lead_the_flags_of_own_crews(client):
    own = build.FlagFactory(title="Ours", crew=build.CrewFactory())
    other = build.FlagFactory(title="Theirs", crew=build.CrewFactory())
    client.force_login(lead_of(own.crew, "own"))
    page = shown(client)
    assert ("Ours" in page, "Theirs" in page) == (True, False)
    assert client.get(f"/flags/{other.public_id}/").status_code == 404
    assert "Settle it" not in shown(client, f"/flags/{own.public_id}/")
    assert client.post(f"/flags/{own.public_id}/", {"resolution": "seen", "note": "x"}).status_code == 403


def test_it_settles_with_a_note(desk):
    flag = build.FlagFactory()
    address = f"/flags/{flag.public_id}/"
    assert desk.post(address, {"resolution": "seen", "note": ""}).status_code == 400
    assert desk.post(address, {"resolution": "seen", "note": "Talked over."}).url == address
    flag.refresh_from_db()
    assert (flag.state, flag.note) == ("settled", "Talked over.")
    assert "Talked over." in shown(desk, address)


def test_it_puts_two_close_outs_beside_each_other(desk):
    page = shown(desk, held())
    assert "Two close-outs of one order: 5 differences" in page
    row = page[page.index(">P. Sedge</th>") :]
    assert [word in row[: row.index("</tr>")] for word in ("<td>270</td>", "<td>300</td>", "differs")] == [True] * 3


def test_it_puts_a_held_close_out_aside(desk):
    address = held()
    assert desk.post(address, {"resolution": "put_aside", "note": "The first one is right."}).status_code == 302
    assert Command.objects.get().state == "settled"


TAKEN = {"resolution": "take_instead", "note": "The second crew stayed longer."}


def test_it_takes_it_instead_of_the_one_that_stands(desk):
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    assert desk.post(held(), TAKEN).status_code == 302
    assert [row.confirmed_by for row in CloseOut.objects.order_by("revision")] == ["R. Teasel", "P. Sedge"]


def test_it_shows_a_refusal_beside_the_form_and_changes_nothing(desk):
    page = desk.post(held(), TAKEN).content.decode()
    assert "No fund is marked as the suspense fund" in page
    assert TAKEN["note"] in page
    assert Flag.objects.get().state == "open"


def test_it_takes_nothing_that_cannot_come_of_it(desk):
    address = held()
    assert desk.post(address, {"resolution": "apply_again", "note": "x"}).status_code == 400
    assert Flag.objects.get().state == "open"
