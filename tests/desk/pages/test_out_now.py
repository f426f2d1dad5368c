"""Out now: the late ones first, found safe or taken in hand, and the strip that every page of the desk shows."""

from datetime import timedelta

import pytest

from orders.common.clock import now
from orders.field.models import CheckInStep, OverdueAlert
from tests import build
from tests.api.scene import lead_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def late():
    check_in = build.CheckInFactory(crew=build.CrewFactory(name="Late crew"), back_by=now() - timedelta(hours=1))
    build.OverdueAlertFactory(check_in=check_in)
    return check_in


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, address="/field/"):
    return client.get(address).content.decode()


def test_it_puts_the_late_first(desk, late):
    build.CheckInFactory(crew=build.CrewFactory(name="Early crew"), back_by=now() + timedelta(minutes=5))
    page = shown(desk)
    assert page.index("overdue</span>") < page.index("Early crew")
    assert page.count("overdue</span>") == 1


def test_it_is_told_on_every_page_of_the_desk(client, late, coordinator, crew_lead):
    strip = "<strong>Not back:</strong> Late crew"
    seen = {}
    for user in (coordinator, crew_lead):
        client.force_login(user)
        seen[user.username] = strip in shown(client, "/products/")
    assert seen == {"cora": True, "lee": False}


def test_it_notes_that_they_are_safe(desk, late):
    assert desk.post(f"/field/check-ins/{late.public_id}/found/", {"note": "On the phone."}).url == "/field/"
    assert CheckInStep.objects.get().kind == "found"
    assert "Nobody is out" in shown(desk)
    assert "Not back" not in shown(desk)


def test_it_wants_to_know_how(desk, late):
    assert desk.post(f"/field/check-ins/{late.public_id}/found/", {"note": ""}).status_code == 400
    assert not CheckInStep.objects.exists()


def test_it_says_who_has_it_in_hand(desk, late, coordinator):
    desk.post(f"/field/check-ins/{late.public_id}/take/")
    assert OverdueAlert.objects.get().taken_by == coordinator
    assert "in hand: cora" in shown(desk)
    assert desk.post(f"/field/check-ins/{late.public_id}/take/").status_code == 409


def test_it_shows_a_lead_own_crews_and_lets_the_desk_answer(client, late):
    build.CheckInFactory(crew=build.CrewFactory(name="Far crew"))
    client.force_login(lead_of(late.crew, "own"))
    page = shown(client)
    assert ("Late crew" in page, "Far crew" in page, "They are safe" in page) == (True, False, False)
    assert client.post(f"/field/check-ins/{late.public_id}/found/", {"note": "x"}).status_code == 403


@pytest.mark.parametrize(("days", "is_late"), [(2, False), (4, True)])
def test_it_says_which_sign_hangs_too_long(desk, days, is_late):
    build.SignPostingFactory(at=now() - timedelta(days=days))
    assert ("up too long" in shown(desk)) is is_late


def test_it_counts_a_sign_from_the_end_of_the_use_and_of_entry(desk):
    order = build.WorkOrderFactory(label={"restricted_entry_hours": 48, "products": []})
    build.SignPostingFactory(order=order, at=now() - timedelta(days=9))
    build.ApplicationFactory(order=order, started_at=now() - timedelta(days=5), at=now() - timedelta(days=4))
    assert "too long up" not in shown(desk)


def test_it_forgets_signs_that_are_down(desk):
    up = build.SignPostingFactory(place="North gate")
    build.SignPostingFactory(sign=up.sign, state="down")
    assert "North gate" not in shown(desk)
