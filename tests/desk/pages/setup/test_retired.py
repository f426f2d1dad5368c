"""Methods, species and questions that are taken out of use: offered for nothing new, kept where they stand."""

import pytest
import time_machine
from django.urls import reverse

from orders import flow
from orders.common.errors import Invalid
from orders.estimates.models import Estimate, Method
from orders.planning.overview import PatchQuestion
from orders.planning.prescribing import recommended_rest
from orders.sites.models import ChecklistQuestion, Species
from orders.sites.selectors import checklist, questions_open, species_offered
from tests import build
from tests.api.caller import Caller
from tests.desk.pages.setup.kit_words import page_of, saved
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

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


def _turn(client, name, row, act):
    saved(client, reverse(f"{name}-{act}", args=[row.public_id]), {"version": getattr(row, "version", 0)})
    row.refresh_from_db()


def _codes(preview):
    return {row.code for row in preview.rows}


def test_a_method_is_recommended_no_more_and_comes_back(desk, ground):
    spray = Method.objects.get(code="dormant-foliar")
    assert "dormant-foliar" in _codes(recommended_rest(ground.world.season, {}))
    _turn(desk, "setup-method", spray, "deactivate")
    assert "dormant-foliar" not in _codes(recommended_rest(ground.world.season, {}))
    found = flow.patches_asked(question=PatchQuestion(), season=None, on=BEGIN.date())
    assert all("dormant-foliar" not in line.recommended for line in found)
    _turn(desk, "setup-method", spray, "activate")
    assert "dormant-foliar" in _codes(recommended_rest(ground.world.season, {}))


def test_a_method_out_of_use_is_not_chosen_and_what_was_chosen_stays(desk, ground):
    ground.choose("spot-foliar", ground.wide, why="Bees.")
    method = Method.objects.get(code="spot-foliar")
    _turn(desk, "setup-method", method, "deactivate")
    (kept,) = ground.look("spot-foliar", ground.wide, why="Bees.").rows
    (other,) = ground.look("spot-foliar", ground.other, why="Bees.").rows
    assert (kept.stands, kept.refused) == (True, "")
    assert other.refused == f"{method.name.capitalize()} is no longer in use."


def test_a_method_out_of_use_is_estimated_no_more(desk, ground):
    method = Method.objects.get(code="spot-foliar")
    before = Estimate.objects.filter(method=method).count()
    _turn(desk, "setup-method", method, "deactivate")
    patch = build.PatchFactory(site=ground.wide.site)
    build.SurveyComponentFactory(
        survey=build.SurveyFactory(patch=patch, components=[], gross_area_m2=9_000), infested_area_m2=6_000
    )
    flow.estimate_patches(on=BEGIN.date(), stamp=ground.world.stamp())
    assert before
    assert Estimate.objects.filter(method=method).count() == before
    assert Estimate.objects.filter(survey__patch=patch).exists()


def test_the_lists_show_what_is_in_use_and_the_rest_when_asked(desk, ground):
    method = Method.objects.get(code="spot-foliar")
    _turn(desk, "setup-method", method, "deactivate")
    address = reverse("setup-method", args=[method.public_id])
    assert address not in page_of(desk, "setup-methods")
    assert address in desk.get(f"{reverse('setup-methods')}?shown=ended").content.decode()
    assert "Put back in use" in page_of(desk, "setup-method", method.public_id)


def test_a_stale_page_takes_nothing_out(desk, ground):
    method = Method.objects.get(code="spot-foliar")
    address = reverse("setup-method-deactivate", args=[method.public_id])
    assert desk.post(address, {"version": method.version + 1}).status_code == 412
    assert Method.objects.get(pk=method.pk).is_active


def test_a_lead_takes_nothing_out(client, ground):
    client.force_login(ground.world.lead)
    for name, row in (
        ("setup-method", Method.objects.get(code="cut")),
        ("setup-species", Species.objects.get(code="EUFO")),
    ):
        assert client.post(reverse(f"{name}-deactivate", args=[row.public_id]), {"version": 1}).status_code == 403


def test_a_species_is_offered_no_more_and_its_patches_stay(desk, ground):
    species = Species.objects.get(code="EUFO")
    _turn(desk, "setup-species", species, "deactivate")
    assert species not in species_offered()
    assert ground.look("dormant-foliar", ground.wide).new
    _turn(desk, "setup-species", species, "activate")
    assert species in species_offered()


def test_an_answered_question_is_asked_no_more_and_its_answer_stays(desk, ground):
    site = ground.wide.site
    question = build.ChecklistQuestionFactory()
    answer = build.ChecklistAnswerFactory(site=site, question=question, stops_work=True)
    assert "Take it out" not in page_of(desk, "setup-question", question.public_id)
    before = questions_open({site.pk: BEGIN.date()})[site.pk]
    _turn(desk, "setup-question", question, "deactivate")
    assert question not in [state.question for state in checklist(site, BEGIN.date())]
    assert questions_open({site.pk: BEGIN.date()})[site.pk] == before - 1
    assert question.answers.get() == answer
    _turn(desk, "setup-question", question, "activate")
    assert questions_open({site.pk: BEGIN.date()})[site.pk] == before


def test_the_api_does_the_same(ground):
    api = Caller(ground.world.coordinator)
    species = Species.objects.get(code="EUFO")
    address = f"/api/species/{species.public_id}"
    etag = api.get(address).headers["ETag"]
    assert api.edit(address, {"is_active": False}, etag=etag).json()["is_active"] is False
    assert "EUFO" not in {row["code"] for row in api.rows("/api/species?is_active=true")}

    question = build.ChecklistQuestionFactory()
    address = f"/api/checklist-questions/{question.public_id}"
    told = {"text": question.question, "sort": question.sort, "is_active": False}
    reply = api.edit(address, told, etag=api.get(address).headers["ETag"], method="put")
    assert reply.json()["is_active"] is False
    assert not ChecklistQuestion.objects.get(pk=question.pk).is_active

    method = Method.objects.get(code="hand-pull")
    address = f"/api/methods/{method.public_id}"
    shown = api.get(address)
    body = {name: shown.json()[name] for name in ("qualification", "mix")} | {"is_active": False}
    facts = {name: value for name, value in shown.json()["facts"].items() if name != "code"}
    reply = api.edit(address, body | {"facts": facts}, etag=shown.headers["ETag"], method="put")
    assert reply.json()["is_active"] is False


def test_an_own_choice_of_a_method_out_of_use_is_refused(desk, ground):
    method = Method.objects.get(code="spot-foliar")
    _turn(desk, "setup-method", method, "deactivate")
    made = Estimate.objects.filter(method=method, survey__patch=ground.wide)[0]
    with pytest.raises(Invalid, match="no longer in use"):
        flow.prescribe_own_choice(
            season=ground.world.season,
            estimate=made,
            first_day=ground.world.season.first_day,
            last_day=ground.world.season.last_day,
            window_because="Said so.",
            why="Bees.",
            on=BEGIN.date(),
            stamp=ground.world.stamp(),
        )
