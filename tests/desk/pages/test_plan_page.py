"""One plan: what it gives, moves and leaves out; its visits with their reasons; accepting, dropping, stopping it."""

import html

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders import flow
from orders.planning.services import PlanOutOfDate
from tests import build
from tests.desk.pages.planned import BECAUSE, LEFT_OUT, moved, plan_done, planned, proposed

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return planned()


@pytest.fixture
def run(made):
    found = plan_done(made.season, title="Before the thaw", moved=moved(made), purpose="replan")
    proposed(found, made)
    return found


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, run, name="plan", **asked):
    return html.unescape(client.get(reverse(name, args=[run.public_id]), asked).content.decode())


def _table(page, name):
    return page.partition(f'id="{name}"')[2].partition("</table>")[0]


def test_it_shows_the_figures_and_that_the_check_found_nothing(desk, run):
    page = _page(desk, run)
    for told in ("$48,123.77", "11 of 14", "<dd>812</dd>", "found nothing against it", "Before the thaw"):
        assert told in page


def test_it_shows_each_fund_with_its_level_and_chance(desk, run):
    funds = _table(_page(desk, run), "funds")
    for told in ("The season's budget", "City operations", "$56,100.00", "41%", "6%"):
        assert told in funds


def test_it_shows_old_beside_new(desk, run):
    page = _page(desk, run)
    assert "What changes from before: 2" in page
    for told in ("Thu, Feb 18, 2027, Ridge crew", "Wed, Feb 24, 2027, Hollow crew", "not in the plan"):
        assert told in page


def test_it_shows_what_is_left_out_why_and_what_would_let_it_in(desk, run):
    left = _table(_page(desk, run), "left-out")
    for told in ("OXBOW P7", "certified applicator is taken", "Another license in the Hollow crew", "$380.00"):
        assert told in left
    assert "no single change" in left


def test_it_tells_visits_that_are_left_out_alike_once(desk, made):
    left = _table(_page(desk, plan_done(made.season, left_out=[LEFT_OUT, LEFT_OUT])), "left-out")
    assert left.count("OXBOW P7") == 1
    assert "2 visits alike" in left


def test_it_narrows_what_is_left_out_to_one_constraint(desk, run):
    page = _page(desk, run, constraint="money")
    assert "TANNER P2" in _table(page, "left-out")
    assert "OXBOW P7" not in _table(page, "left-out")
    assert "License: 1 piece, 14.5 h" in page


def test_it_shows_visits_with_why_and_where_they_were(desk, run, made):
    visits = _table(_page(desk, run), "visits")
    for told in (*BECAUSE, "Tue, Feb 23, 2027", str(made.asked[4].patch), "was Feb 18, Ridge crew"):
        assert told in visits


def test_it_sorts_and_narrows_visits(desk, run):
    visits = _table(_page(desk, run, sort="-day"), "visits")
    assert visits.index("Feb 24") < visits.index("Feb 23")
    assert "Feb 24" not in _table(_page(desk, run, site="OXBOW"), "visits")
    assert "No visit answers this" in _page(desk, run, crew="Nobody")


def test_it_turns_pages_of_each_list_apart(desk, run, monkeypatch):
    monkeypatch.setattr("orders.desk.views.plan.ROWS_A_PAGE", 1)
    monkeypatch.setattr("orders.desk.views.plan.ROWS_OF_A_PART", 1)
    page = _page(desk, run, left_page=2)
    assert "TANNER P2" in _table(page, "left-out")
    assert "Feb 23" in _table(page, "visits")
    assert page.count("Rows 2 to 2 of 2") == 1


def test_it_says_how_good_the_plan_is(desk, run):
    page = _page(desk, run)
    for told in ("$94,000.00", "$79,000.00", "$71,000.00", "10.1%", "Usual: 60,000 rounds", "What the best plan"):
        assert told in page


def test_it_says_that_no_bound_is_known_yet(desk, made):
    run = plan_done(made.season, bound_cents=None, bound_at=None, course=[])
    assert "not known yet" in _page(desk, run)


def test_it_tells_faults_and_offers_no_acceptance(desk, made):
    run = plan_done(made.season, faults=["OXBOW P7 lies outside its window."])
    page = _page(desk, run)
    assert "OXBOW P7 lies outside its window." in page
    assert reverse("plan-accept", args=[run.public_id]) not in page


def test_it_offers_nothing_on_a_what_if(desk, made):
    run = plan_done(made.season, purpose="what_if", changes={"extra_crews": 1})
    page = _page(desk, run)
    assert "What if: 1 more crew." in page
    assert reverse("plan-drop", args=[run.public_id]) not in page
    assert "Its visits" not in page


def test_it_says_what_accepting_does_before_it_does_it(desk, run):
    page = _page(desk, run, "plan-accept")
    assert "voided" in page
    assert "<dd>2</dd>" in page


def test_it_leads_back_where_nothing_is_to_be_accepted(desk, made):
    run = plan_done(made.season, purpose="what_if", changes={"extra_crews": 1})
    reply = desk.get(reverse("plan-accept", args=[run.public_id]))
    assert reply.headers["Location"] == reverse("plan", args=[run.public_id])


def test_it_accepts(desk, run, monkeypatch):
    asked = {}
    monkeypatch.setattr(flow, "accept_plan", lambda **sent: asked.update(sent) or [object()])
    reply = desk.post(reverse("plan-accept", args=[run.public_id]), follow=True)
    assert asked["run"] == run
    assert "1 order is drafted" in reply.content.decode()
    assert reply.redirect_chain[0][0] == reverse("season-board", args=[run.season.public_id])


def test_it_tells_why_a_plan_cannot_be_accepted(desk, run, monkeypatch):
    def refuse(**asked):
        raise PlanOutOfDate("Crews changed after this plan was made.")

    monkeypatch.setattr(flow, "accept_plan", refuse)
    reply = desk.post(reverse("plan-accept", args=[run.public_id]))
    assert reply.status_code == 409
    assert "Crews changed after this plan was made." in reply.content.decode()


def test_it_drops(desk, run):
    reply = desk.post(reverse("plan-drop", args=[run.public_id]))
    run.refresh_from_db()
    assert reply.url == reverse("season-plans", args=[run.season.public_id])
    assert run.dropped_at is not None


def test_it_stops_a_plan_at_work(desk, made):
    run = build.PlanRunFactory(season=made.season, state="running", lost_cents=800_000, start_lost_cents=940_000)
    page = _page(desk, run)
    assert "Stop and keep the best so far" in page
    assert "The best plan so far loses $8,000 of value and cost, from $9,400 at the start." in page
    assert desk.post(reverse("plan-stop", args=[run.public_id])).url == reverse("plan", args=[run.public_id])
    run.refresh_from_db()
    assert run.cancel_asked
    assert "Stopping" in _page(desk, run)


def test_it_says_that_a_plan_is_over_already(desk, run):
    reply = desk.post(reverse("plan-stop", args=[run.public_id]), follow=True)
    assert "This run is over already" in reply.content.decode()


@pytest.mark.parametrize(("role", "look"), [("finance", 200), ("crew_lead", 403)])
def test_it_opens_by_role_and_acts_for_the_desk_alone(client, run, role, look):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("plan", args=[run.public_id])).status_code == look
    for name in ("plan-accept", "plan-drop", "plan-stop"):
        assert client.post(reverse(name, args=[run.public_id])).status_code == 403
    run.refresh_from_db()
    assert (run.accepted_at, run.dropped_at, run.cancel_asked) == (None, None, False)


def test_it_asks_the_database_as_often_for_many_visits_as_for_few(desk, run, made, django_assert_num_queries):
    with CaptureQueriesContext(connection) as few:
        _page(desk, run)
    for _ in range(3):
        proposed(run, made)
    with django_assert_num_queries(len(few)):
        _page(desk, run)
