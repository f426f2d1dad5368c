"""Where what is recommended cannot be done: nobody holds the license, or the method has no mix. The page says so, and
picks the best without herbicide there, as one choice that can be put back."""

import html
import re

import pytest
import time_machine
from django.urls import reverse

from orders.estimates.models import Method
from orders.planning.models import ChoiceBatch, Prescription
from orders.planning.preview import ALL_CAN_BE_DONE, STAND_IN
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db
BUTTON = "Pick the best without herbicide there"


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.fixture
def ground():
    """Every method with herbicide has a mix and asks for a license, as a mower does."""
    made = ground_build()
    sprays = Method.objects.filter(uses_herbicide=True)
    sprays.update(default_mix=build.MixFactory(), qualification=build.QualificationKindFactory(code="applicator"))
    Method.objects.filter(code="mow-mulch").update(qualification=build.QualificationKindFactory(code="brush-mower"))
    return made


@pytest.fixture
def desk(client, ground):
    client.force_login(ground.world.coordinator)
    return client


def _at(ground, name="prescribe"):
    return reverse(name, args=[ground.world.season.public_id])


def _page(client, ground, name="prescribe"):
    return html.unescape(client.get(_at(ground, name)).content.decode())


def _all_licensed(ground):
    """Somebody on the crew holds whatever any method asks for."""
    for method in Method.objects.exclude(qualification=None):
        build.QualificationFactory(person=ground.world.lead.person, kind=method.qualification, jurisdiction=None)


def _confirm(client, ground):
    found = re.search(r'name="fingerprint" value="([^"]+)"', _page(client, ground, "prescribe-review"))
    return client.post(_at(ground, "prescribe-review"), {"address": "", "fingerprint": found[1] if found else ""})


def test_it_says_who_is_missing_and_picks_what_can_be_done(desk, ground):
    page = _page(desk, ground)
    assert "nobody on a crew holds" in page
    assert BUTTON in page
    desk.post(_at(ground, "prescribe-pick"), {"everywhere": STAND_IN})
    _confirm(desk, ground)
    made = Prescription.objects.exclude(origin="follow_up").select_related("method", "patch")
    assert {row.patch for row in made} == {ground.wide, ground.other}
    assert not any(row.method.uses_herbicide for row in made)
    assert all("nobody on a crew holds" in row.why and row.is_own_choice for row in made)
    assert BUTTON not in _page(desk, ground)


def test_what_comes_after_it_is_done_without_herbicide_too(ground):
    for number, after in enumerate(("spot-foliar", "hand-pull")):
        methods = {"after": Method.objects.get(code="hand-pull"), "method": Method.objects.get(code=after)}
        build.ChainRuleFactory(code=f"rule-{number}", **methods)
    ground.choose("hand-pull", ground.pulled)
    made = Prescription.objects.filter(origin="follow_up")
    assert {row.method.code for row in made} == {"hand-pull"}


def test_it_can_be_put_back_whole(desk, ground):
    desk.post(_at(ground, "prescribe-pick"), {"everywhere": STAND_IN})
    _confirm(desk, ground)
    batch = ChoiceBatch.objects.get()
    desk.post(reverse("choice-undo", args=[batch.public_id]), {"version": batch.version})
    assert not Prescription.objects.exclude(state="dropped").exists()
    assert BUTTON in _page(desk, ground)


def test_it_leaves_other_picks_alone(desk, ground):
    desk.post(_at(ground, "prescribe-pick"), {f"pick-{ground.pulled.pk}": "hand-pull"})
    desk.post(_at(ground, "prescribe-pick"), {"everywhere": STAND_IN})
    _confirm(desk, ground)
    made = Prescription.objects.exclude(origin="follow_up")
    assert {row.patch for row in made.select_related("patch")} == {ground.pulled, ground.wide, ground.other}


def test_with_licenses_and_mixes_nothing_is_offered(desk, ground):
    _all_licensed(ground)
    assert BUTTON not in _page(desk, ground)
    assert {row.refused for row in ground.look(STAND_IN).rows} == {ALL_CAN_BE_DONE}


def test_a_method_without_a_mix_counts_too(desk, ground):
    _all_licensed(ground)
    Method.objects.filter(code="dormant-foliar").update(default_mix=None)
    assert "has no mix yet" in _page(desk, ground)
    codes = {row.code for row in ground.look(STAND_IN, ground.wide).new}
    assert codes == {"mow-mulch"}


def test_a_mower_that_nobody_may_drive_stands_in_for_nothing(ground):
    assert "mow-mulch" not in {row.code for row in ground.look(STAND_IN, ground.wide).rows}


def test_a_license_of_another_place_does_not_count(desk, ground):
    elsewhere = build.JurisdictionFactory(code="OH", name="Ohio")
    for method in Method.objects.exclude(qualification=None):
        build.QualificationFactory(person=ground.world.lead.person, kind=method.qualification, jurisdiction=elsewhere)
    assert BUTTON in _page(desk, ground)


def test_it_asks_for_no_reason_of_its_own(desk, ground):
    assert not ground.look(STAND_IN).needs_why
