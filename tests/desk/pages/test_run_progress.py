"""The page of a background run: who sees it, what it says in each state, and what came of it."""

import pytest
from django.urls import reverse

from orders.common.models.run import CANCELED, DONE, FAILED, QUEUED, RUNNING
from orders.common.runs import run_models
from orders.desk.views.runs import KINDS
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(coordinator):
    return build.PlanRunFactory(asked_by=coordinator)


@pytest.fixture
def as_coordinator(client, coordinator):
    client.force_login(coordinator)
    return client


def _address(run, name="run-progress"):
    return reverse(name, args=[run.public_id])


def _text(client, run):
    return client.get(_address(run)).content.decode()


def test_it_knows_every_kind_of_run():
    assert {model.kind for model in run_models()} == set(KINDS)


@pytest.mark.parametrize(
    ("role", "status"), [("coordinator", 200), ("administrator", 200), ("finance", 404), ("crew_lead", 404)]
)
def test_it_opens_to_the_desk(client, run, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(_address(run)).status_code == status
    assert client.get(_address(run, "run-state")).status_code == status


def test_it_opens_to_whoever_asked_for_it(client, crew_lead):
    client.force_login(crew_lead)
    assert client.get(_address(build.PlanRunFactory(asked_by=crew_lead))).status_code == 200


def test_it_asks_for_a_login(client, run):
    assert client.get(_address(run)).url.startswith(reverse("login"))
    assert client.post(_address(run, "run-cancel")).url.startswith(reverse("login"))


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (QUEUED, "Waiting for its turn"),
        (RUNNING, "At work"),
        (DONE, "Done"),
        (FAILED, "Failed"),
        (CANCELED, "Canceled"),
    ],
)
def test_it_says_the_state_in_words(as_coordinator, state, words):
    assert f'data-told="words">{words}</h2>' in _text(as_coordinator, build.PlanRunFactory(state=state))


def test_it_shows_how_far_the_work_is(as_coordinator):
    run = build.PlanRunFactory(
        state=RUNNING, progress_done=30, progress_total=120, progress_note="Improving", attempt=2
    )
    page = _text(as_coordinator, run)
    assert '<progress id="run-progress" max="100" aria-labelledby="run-words" value="25">' in page
    for told in ("30 of 120", "Improving", "Attempt 2", "Cancel this run", "Look again"):
        assert told in page


def test_it_tells_the_best_plan_so_far(as_coordinator):
    run = build.PlanRunFactory(state=RUNNING, lost_cents=1_250_000)
    best = "The best plan so far loses $12,500 of value and cost."
    assert as_coordinator.get(_address(run, "run-state")).json()["best"] == best
    assert best in _text(as_coordinator, run)


def test_it_tells_its_state_to_a_program(as_coordinator):
    run = build.PlanRunFactory(state=RUNNING, progress_done=30, progress_total=120)
    assert as_coordinator.get(_address(run, "run-state")).json() == {
        "state": "running",
        "words": "At work",
        "percent": 25,
        "progress": "25%: 30 of 120",
        "best": "",
        "note": "",
        "attempt": "",
        "trouble": "",
        "over": False,
        "may_cancel": True,
    }


def test_it_cancels_a_run_that_waits(as_coordinator, run):
    assert as_coordinator.post(_address(run, "run-cancel")).url == _address(run)
    run.refresh_from_db()
    assert run.state == CANCELED
    assert "Cancel this run" not in _text(as_coordinator, run)


def test_it_asks_a_run_at_work_to_stop(as_coordinator):
    run = build.PlanRunFactory(state=RUNNING)
    as_coordinator.post(_address(run, "run-cancel"))
    page = _text(as_coordinator, run)
    assert "Stopping" in page
    assert "Cancel this run" not in page


def test_it_says_that_a_run_is_over_already(as_coordinator):
    run = build.PlanRunFactory(state=DONE)
    page = as_coordinator.post(_address(run, "run-cancel"), follow=True)
    assert "This run is over already" in page.content.decode()


def test_it_lets_no_outsider_cancel(client, finance, run):
    client.force_login(finance)
    assert client.post(_address(run, "run-cancel")).status_code == 404
    run.refresh_from_db()
    assert run.state == QUEUED


def test_it_cancels_by_post_only(as_coordinator, run):
    assert as_coordinator.get(_address(run, "run-cancel")).status_code == 405


def test_it_shows_a_finished_plan_and_leads_to_it(as_coordinator):
    left = {"patch": "S1 P7", "method": "Cutting", "hours": 6.5, "constraint": "window", "because": "No day fits."}
    run = build.PlanRunFactory(state=DONE, cost_cents=1_234_567, left_out=[left, {**left, "patch": "S1 P8"}])
    build.VisitFactory(plan_run=run, season=run.season)
    page = _text(as_coordinator, run)
    told = (
        "$12,345.67",
        "<dd>1</dd>",
        "<dd>2</dd>",
        "Window: 2 pieces, 13.0 person-hours",
        reverse("plan", args=[run.public_id]),
    )
    assert [words for words in told if words not in page] == []


def test_it_shows_a_failure_in_plain_words_and_the_exact_ones_below(as_coordinator):
    run = build.PlanRunFactory(state=FAILED, error="NotFound: No rate book is in force.", progress_note="Reading")
    page = _text(as_coordinator, run)
    assert 'data-told="trouble">No rate book is in force. Nothing was changed.</p>' in page
    assert "<code>NotFound: No rate book is in force.</code>" in page


def test_it_shows_what_came_of_an_import_row_by_row(as_coordinator):
    error = {"row": 5, "line": 7, "field": "observed_on", "code": "not_a_date", "message": "“soon” is not a date."}
    whole = {"row": None, "line": None, "field": "file", "code": "x", "message": "Two layers."}
    run = build.SurveyImportFactory(state=DONE, refused=True, rows_read=40, errors=[error, whole])
    page = _text(as_coordinator, run)
    for told in (
        "Nothing was added.",
        "survey.geojson",
        "<dd>40</dd>",
        "row 5 (line 7)",
        "Day of the survey",
        "whole file",
    ):
        assert told in page
    assert "2 errors, 0 to look at" in page
    assert f'href="{reverse("survey-import", args=[run.public_id])}"' in page


def test_it_lists_the_first_of_very_many_errors(as_coordinator):
    errors = [{"row": n, "line": None, "field": "cover", "code": "x", "message": "Wrong."} for n in range(1, 701)]
    page = _text(as_coordinator, build.SurveyImportFactory(state=DONE, errors=errors))
    assert "700 errors, 0 to look at" in page
    assert "The first 25 are listed here." in page
    assert page.count("Wrong.") == 25


def test_it_asks_the_database_as_often_for_many_left_out_as_for_few(as_coordinator, django_assert_max_num_queries):
    left = {"patch": "S1 P7", "method": "Cutting", "hours": 6.5, "constraint": "window", "because": "No day fits."}
    asked = []
    for count in (1, 50):
        run = build.PlanRunFactory(state=DONE, left_out=[left] * count)
        with django_assert_max_num_queries(11) as queries:
            _text(as_coordinator, run)
        asked.append(len(queries.captured_queries))
    assert asked[0] == asked[1]


def test_it_tells_what_an_estimate_run_could_not_price(as_coordinator):
    gone = {"method": "cut-stem", "name": "cut-stem treatment", "lacks": "price", "why": "Ketterline has no price"}
    run = build.EstimateRunFactory(state=DONE, left_out=[{**gone, "patches": 120}])
    page = _text(as_coordinator, run)
    assert "Ketterline has no price: 120 estimates with cut-stem treatment were not made." in page
    assert reverse("setup-prices") in page
    assert "could not be priced" not in _text(as_coordinator, build.EstimateRunFactory(state=DONE))
