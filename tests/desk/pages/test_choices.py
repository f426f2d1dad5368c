"""Choices on the pages: listed, looked at, put back."""

import pytest
import time_machine

from orders import flow
from orders.planning.models import Prescription
from orders.planning.preview import ChoiceAsk
from tests import build
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
def as_coordinator(client, ground):
    client.force_login(ground.world.coordinator)
    return client


def test_it_puts_a_choice_back_from_its_page(as_coordinator, ground):
    batch = ground.choose()
    page = as_coordinator.get(f"/choices/{batch.public_id}/").content.decode()
    assert "Undo this choice" in page
    as_coordinator.post(f"/choices/{batch.public_id}/undo/")
    assert set(Prescription.objects.values_list("state", flat=True)) == {"dropped"}
    assert "everything is as it was before" in as_coordinator.get(f"/choices/{batch.public_id}/").content.decode()


def test_it_names_what_keeps_a_choice_from_being_put_back(as_coordinator, ground):
    batch = ground.choose()
    Prescription.objects.filter(patch=ground.wide).update(state="ordered")
    reply = as_coordinator.post(f"/choices/{batch.public_id}/undo/")
    assert reply.status_code == 409
    assert "H-02 is ordered" in reply.content.decode()


def test_it_lists_earlier_choices(as_coordinator, ground):
    assert "No choices yet" in as_coordinator.get("/choices/").content.decode()
    ground.choose()
    ground.choose("spot-foliar", ground.wide, why="Late.")
    page = as_coordinator.get("/choices/").content.decode()
    assert page.index("Late.") < page.index("Recommended methods")


def test_it_names_a_choice_of_several_methods(as_coordinator, ground):
    picks = {ground.wide: "spot-foliar", ground.other: "dormant-foliar"}
    ask = ChoiceAsk.of_picks(ground.world.season, picks, why="Late.", asked="2 patches")
    batch = flow.choose_methods(ask=ask, on=BEGIN.date(), stamp=ground.world.stamp())
    assert "Several methods for 2 patches" in as_coordinator.get(f"/choices/{batch.public_id}/").content.decode()
    assert "Several methods" in as_coordinator.get("/choices/").content.decode()


def test_it_is_the_desks_alone(client, ground):
    batch = ground.choose()
    client.force_login(build.UserFactory(roles=["finance"]))
    assert client.get(f"/choices/{batch.public_id}/").status_code == 200
    assert client.post(f"/choices/{batch.public_id}/undo/").status_code == 403
