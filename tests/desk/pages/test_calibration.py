"""The pages of calibration and accuracy."""

from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import call_command

from orders.calibration.models import CalibrationRun
from orders.estimates.models import RateBook
from tests import build
from tests.calibration.closed import RATIOS, calibrated, closed_build

pytestmark = pytest.mark.django_db
AT = datetime(2027, 12, 20, 15, tzinfo=UTC)


@pytest.fixture
def as_coordinator(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def closed():
    made = closed_build(RATIOS)
    made.order(12.0)
    made.order(1.0, origin="prefilled")
    return made


@pytest.fixture
def run(closed):
    return calibrated(closed, AT)


def text(reply):
    return reply.content.decode()


def test_it_says_what_to_do_before_there_is_any(as_coordinator):
    shown = text(as_coordinator.get("/calibration/"))
    assert "No calibration yet" in shown
    assert "There is no season yet" in shown


def test_it_asks_for_one_and_shows_how_far_it_is(as_coordinator, closed):
    asked = {"season": str(closed.season.public_id), "crew_kind": "staff"}
    reply = as_coordinator.post("/calibration/ask/", asked)
    run = CalibrationRun.objects.get()
    assert reply.headers["Location"] == f"/runs/{run.public_id}/"
    assert "Calibration" in text(as_coordinator.get(reply.headers["Location"]))


def test_it_leads_from_the_run_to_what_was_found(as_coordinator, run):
    assert f"/calibration/{run.public_id}/" in text(as_coordinator.get(f"/runs/{run.public_id}/"))


def test_it_shows_ratios_with_the_orders_behind_each(as_coordinator, run):
    shown = text(as_coordinator.get(f"/calibration/{run.public_id}/"))
    assert "The orders behind Cut (11)" in shown
    assert f"×{run.result['methods'][0]['ratio']:.2f}" in shown


def test_it_names_the_wild_order_and_its_weight(as_coordinator, run):
    wild = next(row for row in run.result["weights"] if row["wild"])
    shown = text(as_coordinator.get(f"/calibration/{run.public_id}/"))
    table = shown.split('id="wild"')[1].split("</table>")[0]
    assert f'<th scope="row">{wild["order"]}</th>' in table
    assert f"{wild['weight']:.2f}" in table


def test_it_says_which_orders_are_left_out_and_why(as_coordinator, run):
    assert "were filled in and never touched" in text(as_coordinator.get(f"/calibration/{run.public_id}/"))


def test_it_says_first_that_there_is_not_enough(as_coordinator):
    run = calibrated(closed_build(RATIOS[:3]), AT)
    shown = text(as_coordinator.get(f"/calibration/{run.public_id}/"))
    assert "Not enough evidence: 3 closed orders" in shown
    assert "Draft a rate book" not in shown


def test_it_drafts_a_rate_book_and_goes_there(as_coordinator, run):
    reply = as_coordinator.post(f"/calibration/{run.public_id}/draft/")
    draft = RateBook.objects.get(state="draft")
    assert reply.headers["Location"] == f"/rate-books/{draft.public_id}/"
    assert str(draft) in text(as_coordinator.get(f"/calibration/{run.public_id}/"))


def test_it_says_why_where_no_book_is_in_force(as_coordinator, run):
    RateBook.objects.update(state="retired")
    assert "No rate book is in force" in text(as_coordinator.get(f"/calibration/{run.public_id}/"))


def test_it_shows_finance_the_result_and_not_the_button(as_finance, run):
    shown = text(as_finance.get(f"/calibration/{run.public_id}/"))
    assert "A rate book from this" in shown
    assert '<form class="actions"' not in shown
    assert as_finance.post(f"/calibration/{run.public_id}/draft/").status_code == 403


def test_it_is_closed_to_crew_leads(client, crew_lead, run):
    client.force_login(crew_lead)
    for address in ("/calibration/", f"/calibration/{run.public_id}/", "/reports/accuracy/"):
        assert client.get(address).status_code == 403


def test_it_shows_the_accuracy_of_the_newest_season(as_coordinator, closed):
    shown = text(as_coordinator.get("/reports/accuracy/"))
    assert "All 11 orders of Winter 2027" in shown
    assert "Alder crew" in text(as_coordinator.get(f"/reports/accuracy/?season={closed.season.public_id}&by=crew"))


def test_it_has_an_accuracy_page_without_seasons_and_without_orders(as_coordinator):
    assert "No season yet" in text(as_coordinator.get("/reports/accuracy/"))
    build.SeasonFactory()
    assert "Not enough evidence yet" in text(as_coordinator.get("/reports/accuracy/"))


def test_it_refuses_another_cut(as_coordinator):
    assert as_coordinator.get("/reports/accuracy/?by=moon").status_code == 400


def printed(*words):
    out = StringIO()
    call_command("work", "--as", "cora", *words, stdout=out)
    return out.getvalue()


def test_it_is_told_in_the_terminal_too(coordinator, closed):
    told = printed("calibrate", "Winter 2027", "--draft")
    assert "11 orders used, 1 left out" in told
    assert "is far from the rest: ×12.00, weight 0." in told
    assert "draft: Reference" in told
    assert "All: 11 orders, actual over estimated ×" in printed("accuracy", "Winter 2027")
