"""The plans of a season: the list, asking for another, and several side by side."""

import html

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders import flow
from orders.planning.models import PlanRun
from orders.planning.services import PlanOutOfDate
from tests import build
from tests.desk.pages.planned import FIGURES, plan_done

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return build.SeasonFactory(name="Winter 2027")


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _list(client, season, **asked):
    return html.unescape(client.get(reverse("season-plans", args=[season.public_id]), asked).content.decode())


def _ask(client, season, **sent):
    return client.post(reverse("plan-ask", args=[season.public_id]), sent)


def _compare(client, season, *runs):
    ids = [str(run.public_id) for run in runs]
    return client.get(reverse("plan-compare", args=[season.public_id]), {"run": ids})


def test_it_lists_plans_with_their_figures_and_states(desk, season):
    run = plan_done(season, title="Before the thaw")
    build.PlanRunFactory(season=season, state="running")
    page = _list(desk, season)
    for told in (reverse("plan", args=[run.public_id]), "Before the thaw", "to be decided", "at work", "11 of 14"):
        assert told in page
    for told in ("$48,123.77", "11.98 ac", '<td class="number">812</td>'):
        assert told in page


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"accepted_at": build.NOW}, "accepted"),
        ({"dropped_at": build.NOW}, "dropped"),
        ({"faults": ["V1 lies outside its window."]}, "faulty"),
        ({"purpose": "what_if"}, "only looked at"),
        ({"state": "failed"}, "failed"),
        ({"was_stopped": True}, "stopped early"),
    ],
)
def test_it_says_what_became_of_a_plan(desk, season, more, words):
    plan_done(season, **more)
    assert words in _list(desk, season)


def test_it_sorts_by_figures_with_plans_that_have_none_last(desk, season):
    plan_done(season, title="Small", figures={**FIGURES, "area_m2": 10.0})
    build.PlanRunFactory(season=season, title="Waiting")
    plan_done(season, title="Large")
    page = _list(desk, season, sort="-area")
    assert page.index("Large") < page.index("Small") < page.index("Waiting")
    assert _list(desk, season, sort="area").index("Small") < _list(desk, season, sort="area").index("Large")
    assert 'aria-sort="descending"' in page


def test_it_turns_pages(desk, season, monkeypatch):
    monkeypatch.setattr("orders.desk.views.plans.ROWS_A_PAGE", 1)
    plan_done(season, title="First")
    plan_done(season, title="Second")
    assert "Rows 1 to 1 of 2" in _list(desk, season)
    assert "First" in _list(desk, season, page=2)


def test_it_says_that_there_is_no_plan(desk, season):
    assert "No plan yet" in _list(desk, season)


def test_it_asks_for_a_plan(desk, season):
    reply = _ask(desk, season, purpose="plan", **{"plan-search": "quick", "plan-seed": "7"})
    run = PlanRun.objects.get()
    assert reply.url == reverse("plan", args=[run.public_id])
    assert (run.purpose, run.iterations, run.exact_work, run.seed) == ("plan", 5_000, 10.0, 7)


def test_it_asks_for_something_to_differ(desk, season):
    sent = {"what-search": "quick", "what-extra_crews": "0", "what-budget_percent": "100"}
    reply = _ask(desk, season, purpose="what", **sent)
    assert reply.status_code == 400
    assert "Change the crews, their days, the budget or the use of herbicide." in reply.content.decode()


def test_it_asks_what_if(desk, season):
    crew = build.CrewFactory()
    sent = {"search": "quick", "extra_crews": "1", "like_crew": str(crew.public_id), "budget_percent": "90"}
    reply = _ask(desk, season, purpose="what", **{f"what-{name}": value for name, value in sent.items()})
    run = PlanRun.objects.get()
    assert reply.url == reverse("plan", args=[run.public_id])
    assert run.purpose == "what_if"
    assert (run.changes["extra_crews"], run.changes["like_crew"]) == (1, str(crew.public_id))
    assert (run.changes["budget_percent"], run.changes["no_herbicide"]) == (90.0, False)


def test_it_asks_for_the_plan_again(desk, season):
    plan_done(season, accepted_at=build.NOW)
    _ask(desk, season, purpose="again", **{"again-search": "usual"})
    assert PlanRun.objects.filter(purpose="replan", iterations=60_000).count() == 1


def test_it_offers_no_repair_before_a_plan_stands(desk, season):
    assert "there is none to repair" in _list(desk, season)
    plan_done(season, accepted_at=build.NOW)
    assert "there is none to repair" not in _list(desk, season)


def test_it_says_at_the_field_what_is_wrong(desk, season):
    reply = _ask(desk, season, purpose="what", **{"what-search": "quick", "what-extra_crews": "9"})
    assert reply.status_code == 400
    assert 'id="id_what-extra_crews_error"' in reply.content.decode()
    assert PlanRun.objects.count() == 0


def test_it_tells_a_refusal_in_place(desk, season, monkeypatch):
    def refuse(**asked):
        raise PlanOutOfDate("No rate book is in force.")

    monkeypatch.setattr(flow, "plan_season", refuse)
    reply = _ask(desk, season, purpose="plan", **{"plan-search": "quick"})
    assert reply.status_code == 409
    assert "No rate book is in force." in reply.content.decode()


@pytest.mark.parametrize(("role", "look", "ask"), [("finance", 200, 403), ("crew_lead", 403, 403)])
def test_it_opens_by_role(client, season, role, look, ask):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("season-plans", args=[season.public_id])).status_code == look
    assert _ask(client, season, purpose="plan", **{"plan-search": "quick"}).status_code == ask
    assert _compare(client, season).status_code == (400 if look == 200 else 403)
    assert PlanRun.objects.count() == 0


def test_it_shows_no_forms_to_those_who_may_not_ask(client, finance, season):
    client.force_login(finance)
    assert "Ask for another" not in _list(client, season)


def test_it_compares_plans_with_differences_to_the_first(desk, season):
    first = plan_done(season, title="As it is")
    richer = {**FIGURES, "cost_cents": 5_012_377, "deadlines_met": 14, "by_fund": {"CITY": 3_000_000}}
    more = plan_done(season, title="One more crew", purpose="what_if", figures=richer)
    page = html.unescape(_compare(desk, season, more, first).content.decode())
    assert page.index("As it is") < page.index("One more crew")
    for told in ("+$2,000.00", "−$1,000.00", '14<br><span class="quiet">+3</span>', "Cost paid by CITY"):
        assert told in page
    assert '<th scope="row">Cost</th><td class="number">$48,123.77</td><td class="number">$50,123.77</td>' in _flat(
        page
    )


def _flat(page):
    return "".join(line.strip() for line in page.splitlines())


def test_it_compares_two_to_four(desk, season):
    one = plan_done(season)
    assert _compare(desk, season, one).status_code == 400
    assert _compare(desk, season, one, one).status_code == 400
    assert _compare(desk, season, *[one, *(plan_done(season) for _ in range(4))]).status_code == 400


def test_it_compares_plans_of_its_own_season_only(desk, season):
    assert _compare(desk, season, plan_done(season), plan_done(build.SeasonFactory())).status_code == 404


def test_it_refuses_a_plan_that_cannot_be_read(desk, season):
    reply = desk.get(reverse("plan-compare", args=[season.public_id]), {"run": ["x", "y"]})
    assert reply.status_code == 400


def test_it_asks_the_database_as_often_for_many_plans_as_for_few(desk, season, django_assert_num_queries):
    plan_done(season)
    with CaptureQueriesContext(connection) as few:
        _list(desk, season)
    for _ in range(5):
        plan_done(season)
    with django_assert_num_queries(len(few)):
        _list(desk, season)
