"""Methods side by side: picked across pages, seen beside what there is, confirmed as one choice, put back."""

import html
import re

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.common.runs import run_claim, run_perform
from orders.desk.season import prescribe, whole_season
from orders.planning.models import ChoiceBatch, Prescription, SeasonPrescribeRun
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build, wide_survey

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.fixture
def ground():
    return ground_build()


@pytest.fixture
def desk(client, ground):
    client.force_login(ground.world.coordinator)
    return client


def _at(ground, name="prescribe"):
    return reverse(name, args=[ground.world.season.public_id])


def _page(client, ground, query="", name="prescribe"):
    return html.unescape(client.get(f"{_at(ground, name)}?{query}").content.decode())


def _pick(client, ground, picks=None, **sent):
    radios = {f"pick-{patch.pk}": choice for patch, choice in (picks or {}).items()}
    return client.post(_at(ground, "prescribe-pick"), {**radios, **sent})


def _confirm(client, ground, address="", **sent):
    page = _page(client, ground, address, "prescribe-review")
    found = re.search(r'name="fingerprint" value="([^"]+)"', page)
    told = {"address": address, "fingerprint": found[1] if found else "", **sent}
    return client.post(_at(ground, "prescribe-review"), told)


def _standing():
    rows = Prescription.objects.exclude(state="dropped").exclude(origin="follow_up").select_related("patch", "method")
    return {f"{row.patch.code} {row.method.code}" for row in rows}


def test_it_shows_patches_and_methods_with_figures_reasons_and_windows(desk, ground):
    page = _page(desk, ground)
    assert f'name="pick-{ground.wide.pk}" value="dormant-foliar"' in page
    assert "recommended" in page
    assert "Methods that fit none of the patches shown" in page
    assert "Cut-stem treatment does not treat this growth form." in page
    assert re.search(r"\d+\.\d to \d+\.\d h", page)
    assert "How full 2027 gets" in page
    assert not Prescription.objects.exists()


def test_picking_fills_the_bars_and_stores_nothing(desk, ground):
    reply = desk.post(
        _at(ground, "prescribe-pick"), {f"pick-{ground.wide.pk}": "dormant-foliar"}, headers={"HX-Request": "true"}
    )
    told = html.unescape(reply.content.decode())
    assert reply.status_code == 200
    assert "1 patch picked" in told
    assert "Person-hours" in told
    assert 'class="fill-comes"' in told
    assert not Prescription.objects.exists()


def test_picks_are_kept_across_pages_and_made_as_one_choice_of_several_methods(desk, ground, monkeypatch):
    monkeypatch.setattr("orders.desk.season.prescribe.PATCHES_A_PAGE", 1)
    _pick(desk, ground, {ground.pulled: "hand-pull"})
    _pick(desk, ground, {ground.wide: "spot-foliar"})
    _pick(desk, ground, {ground.other: "dormant-foliar"})
    reply = _confirm(desk, ground, why="A class works there.")
    batch = ChoiceBatch.objects.get()
    assert reply.url == reverse("choice", args=[batch.public_id])
    assert _standing() == {f"{ground.pulled.code} hand-pull", "H-02 spot-foliar", "H-03 dormant-foliar"}
    desk.post(reverse("choice-undo", args=[batch.public_id]))
    assert _standing() == set()


def test_a_radio_put_back_takes_the_pick_away(desk, ground):
    _pick(desk, ground, {ground.wide: "dormant-foliar"})
    _pick(desk, ground, {ground.wide: ""})
    assert "0 patches picked" in _page(desk, ground)


def test_a_column_picks_wherever_it_fits(desk, ground):
    fitting = [row for row in ground.look("dormant-foliar", why="Late.").rows if row.acts]
    assert len(fitting) > 1
    _pick(desk, ground, everywhere="dormant-foliar")
    assert f"{len(fitting)} patches picked" in _page(desk, ground)


def test_what_is_recommended_is_picked_everywhere_at_once(desk, ground):
    _pick(desk, ground, everywhere="recommended")
    _confirm(desk, ground)
    assert _standing() == {f"{ground.pulled.code} hand-pull", "H-02 dormant-foliar", "H-03 dormant-foliar"}


def test_it_starts_over(desk, ground):
    _pick(desk, ground, everywhere="recommended")
    _pick(desk, ground, clear="1")
    assert "0 patches picked" in _page(desk, ground)


def test_it_says_why_a_pick_is_refused(desk, ground):
    reply = desk.post(
        _at(ground, "prescribe-pick"), {f"pick-{ground.wide.pk}": "cut-stem"}, headers={"HX-Request": "true"}
    )
    assert "does not treat this growth form" in reply.content.decode()
    assert "0 patches picked" in reply.content.decode()


def test_it_asks_why_it_is_not_what_is_recommended(desk, ground):
    _pick(desk, ground, {ground.wide: "spot-foliar"})
    refused = _confirm(desk, ground)
    assert refused.status_code == 400
    assert 'aria-invalid="true"' in refused.content.decode()
    assert not Prescription.objects.exists()


def test_it_drops_what_is_chosen(desk, ground):
    ground.choose("dormant-foliar", ground.wide)
    _pick(desk, ground, {ground.wide: "none"})
    _confirm(desk, ground, why="The creek has it.")
    assert _standing() == set()


def test_it_keeps_what_else_is_chosen_where_that_is_ticked(desk, ground):
    ground.choose("dormant-foliar", ground.wide)
    _pick(desk, ground, {ground.wide: "monitor"}, keep="1")
    _confirm(desk, ground, why="Look twice.")
    assert _standing() == {"H-02 dormant-foliar", "H-02 monitor"}


def test_it_shows_the_choice_again_where_something_changed(desk, ground):
    _pick(desk, ground, everywhere="recommended")
    page = _page(desk, ground, name="prescribe-review")
    (shown,) = re.findall(r'name="fingerprint" value="([^"]+)"', page)
    ground.choose("hand-pull", ground.pulled)
    reply = desk.post(_at(ground, "prescribe-review"), {"address": "", "fingerprint": shown})
    assert reply.status_code == 409
    assert "Something changed since this was shown." in reply.content.decode()


def test_marked_patches_come_from_a_list(desk, ground):
    sent = {"patch": [str(ground.wide.public_id)], "season": str(ground.world.season.public_id)}
    reply = desk.post(reverse("prescribe-selection"), sent)
    page = html.unescape(desk.get(reply.url).content.decode())
    assert "1 marked patch." in page
    assert f"pick-{ground.wide.pk}" in page
    assert f"pick-{ground.other.pk}" not in page


def test_a_method_named_with_the_marks_is_shown_at_once(desk, ground):
    season = str(ground.world.season.public_id)
    sent = {"patch": [str(ground.wide.public_id)], "season": season, "method": "dormant-foliar"}
    reply = desk.post(reverse("prescribe-selection"), sent)
    assert reply.url.startswith(_at(ground, "prescribe-review"))
    assert "H-02" in desk.get(reply.url).content.decode()


def test_marks_without_a_season_go_to_the_one_that_is_worked(desk, ground):
    reply = desk.post(reverse("prescribe-selection"), {"patch": [str(ground.wide.public_id)]})
    assert reply.url.startswith(_at(ground))
    assert "selection=" in reply.url


@pytest.mark.parametrize("sent", [{}, {"patch": ["x"]}, {"patch": ["5c0c0a5e-0000-4000-8000-000000000000"]}])
def test_it_names_what_is_wrong_with_the_marks(desk, sent):
    reply = desk.post(reverse("prescribe-selection"), sent)
    assert reply.status_code == 400
    assert "<li>" in reply.content.decode()


def test_it_narrows_by_the_lists_own_question(desk, ground):
    page = _page(desk, ground, "text=h-03")
    assert f"pick-{ground.other.pk}" in page
    assert f"pick-{ground.wide.pk}" not in page


def test_it_tells_patches_that_have_no_estimate(desk, ground):
    patch = build.PatchFactory(site=ground.wide.site, code="H-09")
    wide_survey(patch)
    page = _page(desk, ground)
    assert "1 of the patches shown has no up-to-date estimate" in page
    assert reverse("estimates-make") in page


def test_the_whole_season_is_shown_first_and_then_prescribed(desk, ground):
    page = _page(desk, ground, name="prescribe-season")
    assert "Prescribe 3 pieces of work" in page
    assert not Prescription.objects.exists()
    reply = desk.post(_at(ground, "prescribe-season"))
    batch = ChoiceBatch.objects.get()
    assert reply.url == reverse("choice", args=[batch.public_id])
    assert len(_standing()) == 3


def test_a_season_of_many_patches_is_looked_at_in_the_background(desk, ground, monkeypatch):
    monkeypatch.setattr(whole_season, "AT_ONCE", 1)
    assert "more than a page looks through" in _page(desk, ground, name="prescribe-season")
    for purpose, said in (("look", "Prescribe 3 pieces of work"), ("prescribe", "See the choice")):
        reply = desk.post(_at(ground, "prescribe-season"), {purpose: "1"})
        run = SeasonPrescribeRun.objects.latest("id")
        assert reply.url == reverse("run-progress", args=[run.public_id])
        attempt = run_claim(run, at=BEGIN)
        assert attempt is not None
        run_perform(run, attempt, clock=lambda: BEGIN)
        assert said in html.unescape(desk.get(reply.url).content.decode())
    assert len(_standing()) == 3
    assert _page(desk, ground, name="prescribe-season").count(reverse("run-progress", args=[run.public_id])) == 1


def test_who_asked_to_look_finds_nothing_prescribed(desk, ground):
    desk.post(_at(ground, "prescribe-season"), {"look": "1"})
    assert SeasonPrescribeRun.objects.get().purpose == "look"
    assert not Prescription.objects.exists()


def test_a_column_for_too_many_patches_at_once_is_refused(desk, ground, monkeypatch):
    monkeypatch.setattr(prescribe, "MOST_PATCHES", 1)
    assert _pick(desk, ground, everywhere="recommended").status_code == 400


def test_the_current_season_opens_and_without_one_the_way_to_add_it(client, coordinator, ground):
    client.force_login(coordinator)
    assert client.get(reverse("prescribe-now")).url == _at(ground)


def test_without_a_season_it_says_so(client, coordinator):
    client.force_login(coordinator)
    reply = client.get(reverse("prescribe-now"))
    assert reply.status_code == 200
    assert reverse("season-new") in reply.content.decode()


def test_finance_looks_and_picks_nothing(client, finance, ground):
    client.force_login(finance)
    page = _page(client, ground)
    assert "H-02" in page
    assert 'type="radio"' not in page
    assert _pick(client, ground, everywhere="recommended").status_code == 403
    for name in ("prescribe-review", "prescribe-season"):
        assert client.get(_at(ground, name)).status_code == 403


def test_it_asks_the_database_as_often_for_many_patches_as_for_few(desk, ground):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            assert desk.get(_at(ground)).status_code == 200
        return len(queries)

    asked()
    few = asked()
    for number in range(12):
        patch = build.PatchFactory(site=ground.wide.site, code=f"K-{number:02}")
        wide_survey(patch)
    assert asked() <= few
