"""Choosing on the pages: looked at, confirmed, put back."""

import re

import pytest
import time_machine

from orders.planning.models import ChoiceBatch, Prescription
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


def _sent(page):
    """What the confirming form would send."""
    form = page.partition('method="post" action="/patches/choose/"')[2].partition("</form>")[0]
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form)
    fields: dict[str, list[str]] = {}
    for name, value in found:
        fields.setdefault(name, []).append(value)
    return fields


def _look(client, query):
    reply = client.get(f"/patches/choose/?{query}")
    return reply, reply.content.decode()


def test_it_shows_what_would_be_done_and_changes_nothing(as_coordinator, ground):
    reply, page = _look(as_coordinator, "scope=all&method=recommended")
    assert reply.status_code == 200
    assert "Choose for 3 patches" in page
    assert "The crews can give" in page
    assert not Prescription.objects.exists()


def test_it_chooses_for_the_marked_patches_alone(as_coordinator, ground):
    _, page = _look(as_coordinator, f"scope=marked&method=dormant-foliar&patch={ground.wide.public_id}")
    reply = as_coordinator.post("/patches/choose/", _sent(page))
    batch = ChoiceBatch.objects.get()
    assert (reply.status_code, reply.url) == (302, f"/choices/{batch.public_id}/")
    assert [row.patch for row in Prescription.objects.all()] == [ground.wide]


def test_it_keeps_the_filter_for_all_that_match(as_coordinator):
    _, page = _look(as_coordinator, "scope=all&method=recommended&text=h-03")
    as_coordinator.post("/patches/choose/", _sent(page))
    assert [row.patch.code for row in Prescription.objects.all()] == ["H-03"]
    assert ChoiceBatch.objects.get().asked == "text h-03"


def test_it_asks_why_it_is_not_what_is_recommended(as_coordinator, ground):
    _, page = _look(as_coordinator, f"scope=marked&method=spot-foliar&patch={ground.wide.public_id}")
    assert "Why not what is recommended?" in page
    refused = as_coordinator.post("/patches/choose/", _sent(page))
    assert refused.status_code == 400
    assert 'aria-invalid="true"' in refused.content.decode()
    assert not Prescription.objects.exists()
    as_coordinator.post("/patches/choose/", {**_sent(page), "why": "A class works there."})
    assert Prescription.objects.get().why == "A class works there."


def test_it_shows_the_preview_again_where_something_changed(as_coordinator, ground):
    _, page = _look(as_coordinator, "scope=all&method=recommended")
    ground.choose("hand-pull", ground.pulled)
    reply = as_coordinator.post("/patches/choose/", _sent(page))
    assert reply.status_code == 400
    assert "Something changed since this was shown." in reply.content.decode()
    assert "Choose for 2 patches" in reply.content.decode()


def test_it_says_why_a_row_is_refused(as_coordinator, ground):
    _, page = _look(as_coordinator, "scope=all&method=cut-stem")
    assert page.count("Cut-stem treatment does not treat this growth form.") == 3
    assert "Nothing would change" in page


@pytest.mark.parametrize("query", ["scope=marked&method=recommended", "scope=all&method=goats", "scope=all", "patch=x"])
def test_it_names_what_is_missing(as_coordinator, query):
    reply, page = _look(as_coordinator, query)
    assert reply.status_code == 400
    assert 'class="notice' in page or "<li>" in page


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
    assert page.index("Late.") < page.index("What is recommended")


def test_it_is_the_desks_alone(client, ground):
    batch = ground.choose()
    client.force_login(build.UserFactory(roles=["finance"]))
    assert client.get("/patches/choose/?scope=all&method=recommended").status_code == 403
    assert client.get(f"/choices/{batch.public_id}/").status_code == 200
    assert client.post(f"/choices/{batch.public_id}/undo/").status_code == 403
