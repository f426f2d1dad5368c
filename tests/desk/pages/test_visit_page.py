"""A visit: why it stands there, its order; moved by hand with what that breaks told at once, kept, and let go."""

import html
from datetime import date

import pytest
from django.urls import reverse

from orders import flow
from orders.common.errors import Invalid
from orders.planning.moving import Break
from tests import build
from tests.desk.pages.planned import BECAUSE, planned

pytestmark = pytest.mark.django_db
SOFT = Break("window", "The window of OXBOW P2 closes on March 20.", False)
HARD = Break("license", "Nobody in the Ridge crew holds the license for it.", True)


@pytest.fixture
def made():
    return planned()


@pytest.fixture
def visit(made):
    return made.visits[2]


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def breaks(monkeypatch):
    """What every move breaks; a test fills it."""
    found: list[Break] = []
    monkeypatch.setattr(flow, "move_preview", lambda **asked: tuple(found))
    return found


@pytest.fixture
def moves(monkeypatch):
    """The moves that were made."""
    made = []
    monkeypatch.setattr(flow, "move_visit", lambda **asked: made.append(asked))
    return made


def _page(client, visit, name="visit", **asked):
    return html.unescape(client.get(reverse(name, args=[visit.public_id]), asked).content.decode())


def _where(made, **more):
    return {"crew": str(made.crews[1].public_id), "day": "2027-02-25", **more}


def test_it_says_why_it_stands_there_and_what_it_serves(desk, visit, made):
    page = _page(desk, visit)
    for told in (*BECAUSE, "Friday, February 12, 2027", str(made.asked[2].patch), "Aug 18, 2027", "none yet"):
        assert told in page


def test_it_tells_its_order(desk, made):
    assert ">41, draft</a>" in _page(desk, made.visits[1])


def test_it_says_that_no_plan_gave_a_reason(desk, made):
    assert "No plan gave a reason" in _page(desk, build.VisitFactory(season=made.season))


def test_it_tells_what_was_done_to_it(desk, visit, coordinator):
    flow.put_visit_free(visit=_kept(visit), stamp=build.stamp(by=coordinator))
    assert "visit put free" in _page(desk, visit)


def _kept(visit):
    visit.is_kept = True
    visit.kept_because = "The owner will be there."
    visit.save()
    return visit


def test_it_asks_where_to_first(desk, visit):
    page = _page(desk, visit, "visit-move")
    assert 'value="2027-02-12"' in page
    assert "What it breaks" not in page


def test_it_tells_at_once_what_a_move_breaks_and_asks_why(desk, visit, made, breaks, moves):
    breaks.append(SOFT)
    page = _page(desk, visit, "visit-move", **_where(made))
    assert SOFT.words in page
    assert "Why all the same?" in page
    assert moves == []


def test_it_asks_no_reason_where_nothing_breaks(desk, visit, made, breaks):
    page = _page(desk, visit, "visit-move", **_where(made))
    assert "It breaks nothing" in page
    assert "Why all the same?" not in page


def test_it_offers_no_way_past_what_nobody_may_break(desk, visit, made, breaks):
    breaks.extend([SOFT, HARD])
    page = _page(desk, visit, "visit-move", **_where(made))
    assert "This cannot be done" in page
    assert "Move it</button>" not in page


def test_it_moves_with_the_reason(desk, visit, made, breaks, moves):
    sent = _where(made, keep="on", reason="The owner asked for it.")
    reply = desk.post(reverse("visit-move", args=[visit.public_id]), sent)
    assert reply.url == reverse("visit", args=[visit.public_id])
    (asked,) = moves
    assert (asked["visit"], asked["crew"], asked["day"], asked["keep"]) == (
        visit,
        made.crews[1],
        date(2027, 2, 25),
        True,
    )
    assert asked["stamp"].reason == "The owner asked for it."


def test_it_tells_a_refusal_in_place(desk, visit, made, breaks, monkeypatch):
    def refuse(**asked):
        raise Invalid("Say why.")

    breaks.append(SOFT)
    monkeypatch.setattr(flow, "move_visit", refuse)
    reply = desk.post(reverse("visit-move", args=[visit.public_id]), _where(made))
    assert reply.status_code == 400
    assert "Say why." in reply.content.decode()


def test_it_says_at_the_field_what_is_wrong(desk, visit, made):
    reply = desk.get(reverse("visit-move", args=[visit.public_id]), {**_where(made), "day": "soon"})
    assert reply.status_code == 400
    assert 'id="id_day_error"' in reply.content.decode()


def test_it_tells_in_place_where_a_day_cannot_be_asked_for(desk, visit, made, monkeypatch):
    def refuse(**asked):
        raise Invalid("The day is outside the season.")

    monkeypatch.setattr(flow, "move_preview", refuse)
    reply = desk.get(reverse("visit-move", args=[visit.public_id]), _where(made))
    assert reply.status_code == 400
    assert "The day is outside the season." in reply.content.decode()
    assert "See what it breaks" in reply.content.decode()


def test_it_moves_no_visit_that_is_done(desk, made):
    assert "It cannot be moved" in _page(desk, made.visits[0], "visit-move")


def test_it_lets_plans_move_it_again(desk, visit):
    assert "Let plans move it again" in _page(desk, _kept(visit))
    desk.post(reverse("visit-free", args=[visit.public_id]))
    visit.refresh_from_db()
    assert not visit.is_kept


@pytest.mark.parametrize(("role", "look"), [("finance", 200), ("crew_lead", 403)])
def test_it_opens_by_role_and_moves_for_the_desk_alone(client, visit, made, role, look, moves):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("visit", args=[visit.public_id])).status_code == look
    assert client.post(reverse("visit-move", args=[visit.public_id]), _where(made)).status_code == 403
    assert client.post(reverse("visit-free", args=[visit.public_id])).status_code == 403
    assert moves == []


def test_it_says_that_there_is_no_such_visit(desk, made):
    address = reverse("visit", args=[made.season.public_id])
    assert desk.get(address).status_code == 404
