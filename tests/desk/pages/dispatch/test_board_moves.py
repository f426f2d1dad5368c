"""The board's moves as its pages and its script ask for them: told before, done, undone; and without a script."""

import html

import pytest
from django.urls import reverse

from orders import flow
from orders.common.errors import Invalid
from orders.desk.dispatch import moves
from orders.planning.adding import Placed
from orders.planning.models import Visit
from orders.planning.moving import Break
from orders.workorders.models import WorkOrder
from tests import build
from tests.api.scene import scene_build
from tests.desk.pages.planned import planned
from tests.flow.world import world_build
from tests.planning.small import MONDAY, asked

pytestmark = pytest.mark.django_db
SOFT = Break("window", "2027-03-20 is outside its window.", False)


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def made():
    return planned()


@pytest.fixture
def scene(desk):
    return scene_build()


def _to(name, season):
    return reverse(name, args=[season.public_id])


def _target(scene, day="2027-02-02", **more):
    return {"visit": str(scene.visit.public_id), "crew": str(scene.world.crew.public_id), "day": day, **more}


def test_it_tells_what_letting_go_there_would_break(desk, made, monkeypatch):
    monkeypatch.setattr(flow, "move_preview", lambda **said: (SOFT,))
    said = {"visit": made.visits[2].public_id, "crew": made.crews[1].public_id, "day": "2027-03-23"}
    told = desk.get(_to("board-preview", made.season), said).json()
    words = {"kind": "window", "words": "Mar 20, 2027 is outside its window.", "is_hard": False}
    assert told == {"place": "Ridge crew, Tue, Mar 23", "breaks": [words]}


def test_it_tells_a_refusal_as_what_it_breaks(desk, made):
    said = {"visit": made.visits[0].public_id, "crew": made.crews[1].public_id, "day": "2027-03-23"}
    (told,) = desk.get(_to("board-preview", made.season), said).json()["breaks"]
    assert (told["kind"], told["is_hard"]) == ("refused", True)


@pytest.mark.parametrize("more", [{}, {"work": "x"}, {"day": "soon"}])
def test_it_refuses_what_names_nothing_it_knows(desk, made, more):
    said = {"crew": made.crews[1].public_id, "day": "2027-03-23", **more}
    assert desk.get(_to("board-preview", made.season), said).status_code == 400


def test_it_moves_and_puts_back(desk, scene):
    season = scene.world.season
    reply = desk.post(_to("board-drop", season), _target(scene, back="week=2027-02-01"))
    assert reply.url == f"{_to('season-board', season)}?week=2027-02-01#visit-{scene.visit.public_id}"
    page = html.unescape(desk.get(reply.url.partition("#")[0]).content.decode())
    assert "is moved to Hollow crew, Tue, Feb 2." in page
    desk.post(_to("board-undo", season), {"back": ""})
    scene.visit.refresh_from_db()
    assert (str(scene.visit.day), scene.visit.is_kept) == ("2027-02-01", False)
    assert "Undone: " in scene.visit.because[0]
    assert desk.post(_to("board-undo", season)).status_code == 409


def test_a_drop_that_is_refused_is_told_on_the_page_without_a_script(desk, scene):
    reply = desk.post(_to("board-drop", scene.world.season), _target(scene, "2027-02-06"), follow=True)
    page = html.unescape(reply.content.decode())
    assert "Say why it is moved all the same." in page
    assert "Why all the same?" in page


def test_it_puts_work_on_a_day_and_takes_it_off_again(desk):
    world = world_build()
    work = asked(world, "A", 0.5)
    said = {"work": str(work.public_id), "crew": str(world.crew.public_id), "day": MONDAY.isoformat()}
    desk.post(_to("board-drop", world.season), said)
    visit = Visit.objects.get()
    assert (visit.day, visit.state) == (MONDAY, "planned")
    desk.post(_to("board-undo", world.season))
    visit.refresh_from_db()
    assert visit.state == "dropped"


def test_it_puts_work_on_a_day_by_a_form(desk):
    world = world_build()
    work = asked(world, "A", 0.5)
    address = reverse("work-place", args=[work.public_id])
    said = {"crew": str(world.crew.public_id), "day": "2027-03-06"}
    assert "What it breaks" not in desk.get(address).content.decode()
    assert "is outside its window" in desk.get(address, said).content.decode()
    assert desk.post(address, said).status_code == 400
    assert desk.post(address, {**said, "reason": "The owner is there."}).status_code == 302
    assert Visit.objects.get().kept_because == "The owner is there."


def test_it_tells_beside_the_form_that_nothing_is_left(desk, monkeypatch):
    def nothing(**said):
        raise Invalid("It has its visits already.")

    made = planned()
    monkeypatch.setattr(moves, "visit_add_breaks", nothing)
    said = {"crew": str(made.crews[0].public_id), "day": "2027-03-05"}
    reply = desk.get(reverse("work-place", args=[made.asked[4].public_id]), said)
    assert (reply.status_code, "has its visits already" in reply.content.decode()) == (400, True)


def test_it_puts_work_nowhere_past_what_nobody_may_break(desk, monkeypatch):
    made = planned()
    hard = Placed(1.0, 12.0, (Break("license", "Hollow crew lacks a license.", True),))
    monkeypatch.setattr(moves, "visit_add_breaks", lambda **said: hard)
    said = {"crew": str(made.crews[0].public_id), "day": "2027-03-05"}
    page = desk.get(reverse("work-place", args=[made.asked[4].public_id]), said).content.decode()
    assert "This cannot be done" in page
    assert "Put it there</button>" not in page


def test_it_takes_a_visit_off_its_day_and_undoes_that(desk, made):
    visit = made.visits[2]
    assert "asked for again" in desk.get(reverse("visit-off", args=[visit.public_id])).content.decode()
    desk.post(reverse("visit-off", args=[visit.public_id]))
    visit.refresh_from_db()
    assert visit.state == "dropped"
    desk.post(_to("board-undo", made.season))
    visit.refresh_from_db()
    assert visit.state == "planned"


def test_it_wants_a_reason_to_take_a_visit_off_its_order(desk, made):
    address = reverse("visit-off", args=[made.visits[1].public_id])
    assert desk.post(address, {"reason": ""}).status_code == 400
    assert desk.post(address, {"reason": "The bridge is out."}).status_code == 302
    assert WorkOrder.objects.get(number=41).state == "void"


def test_it_drafts_orders_for_what_has_none(desk, made):
    assert "2 visits of this season" in desk.get(_to("season-board", made.season)).content.decode()
    reply = desk.post(_to("orders-draft", made.season), {"visit": str(made.visits[2].public_id)})
    assert reply.url == f"/orders/?state=draft&season={made.season.public_id}"
    desk.post(_to("orders-draft", made.season))
    assert WorkOrder.objects.count() == 3
    assert desk.post(_to("orders-draft", made.season)).status_code == 409


@pytest.mark.parametrize("name", ["board-drop", "board-undo", "orders-draft"])
def test_it_is_the_desks_alone_to_change(client, finance, made, name):
    client.force_login(finance)
    assert client.post(_to(name, made.season)).status_code == 403


def test_the_board_of_today_opens_without_a_season_and_with_the_nearest(desk):
    assert "No season yet" in desk.get(reverse("board")).content.decode()
    build.SeasonFactory(name="Long past", first_day="2001-01-01", last_day="2001-12-01")
    build.SeasonFactory(name="Nearer")
    assert "Board of Nearer" in desk.get(reverse("board")).content.decode()
