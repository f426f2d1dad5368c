"""Work orders: the list narrowed and sorted, and one order with what its crew sent."""

import html
from datetime import date
from pathlib import Path

import pytest

from tests import build
from tests.api.scene import lead_of
from tests.browser.field_pages import order as built

pytestmark = pytest.mark.django_db
DAY = date(2027, 2, 10)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, address="/orders/"):
    return html.unescape(client.get(address).content.decode())


@pytest.mark.parametrize(
    ("query", "numbers"),
    [("", [33, 32, 31]), ("?sort=number", [31, 32, 33]), ("?q=32", [32]), ("?state=void", [33]), ("?site=RIDGE", [31])],
)
def test_it_narrows_and_sorts(desk, query, numbers):
    build.WorkOrderFactory(number=31, site=build.SiteFactory(code="RIDGE"))
    build.WorkOrderFactory(number=32)
    build.WorkOrderFactory(number=33, state="void", void_reason="Rain.")
    page = shown(desk, f"/orders/{query}")
    places = {page.find(f">No. {number}<"): number for number in (31, 32, 33)}
    assert [places[at] for at in sorted(places) if at > 0] == numbers


def test_it_asks_the_database_as_often_for_many_as_for_few(desk, django_assert_max_num_queries):
    build.ApplicationFactory()
    with django_assert_max_num_queries(30) as few:
        shown(desk)
    for _ in range(6):
        build.ApplicationFactory()
    with django_assert_max_num_queries(len(few.captured_queries)):
        shown(desk)


WORDS = (
    "Park at the gate",
    "Backpack 2",
    "is not accounted for",
    "Wind above 10 mph.",
    "Near miss",
    "North gate: up",
    "From the gate",
    "412 stems cut",
    "412 stems are twice",
)


def test_it_shows_what_the_crew_sent(desk):
    page = shown(desk, built())
    assert [word for word in WORDS if word not in page] == []


def test_it_keeps_chemicals_and_safety_from_finance(client, finance):
    client.force_login(finance)
    page = shown(client, built())
    assert [word for word in ("412 stems cut", "Park at the gate") if word not in page] == []
    assert [word for word in ("Backpack 2", "Near miss", "From the gate", "412 stems are twice") if word in page] == []


def test_it_hides_the_order_of_another_crew(client):
    order = build.WorkOrderFactory(state="issued")
    seen = []
    for crew in (order.crew, build.CrewFactory()):
        client.force_login(lead_of(crew, f"lead of {crew}"))
        seen.append(client.get(f"/orders/{order.public_id}/").status_code)
    assert seen == [200, 404]


def _photo(folder, **facts):
    photo = build.PhotoFactory(**{"state": "whole", **facts})
    (Path(folder) / str(photo.public_id)).write_bytes(b"picture")
    return photo


def test_it_hands_out_a_picture_to_who_may_see_its_order(client, settings, coordinator, finance):
    photo = _photo(settings.PHOTO_DIR)
    others = lead_of(build.CrewFactory(), "other")
    seen = []
    for user in (coordinator, lead_of(photo.order.crew, "own"), others, finance):
        client.force_login(user)
        seen.append(client.get(f"/photos/{photo.public_id}/").status_code)
    assert seen == [200, 200, 404, 403]


@pytest.mark.parametrize("facts", [{"state": "waiting"}, {"state": "broken"}, {"content_type": "text/html"}])
def test_it_hands_out_no_file_that_is_not_a_whole_picture(desk, settings, facts):
    assert desk.get(f"/photos/{_photo(settings.PHOTO_DIR, **facts).public_id}/").status_code == 404
