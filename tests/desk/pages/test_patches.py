"""The list of patches and the page of one: what is recommended, what is chosen, and every method side by side."""

import re

import pytest
import time_machine

from orders.desk.patch_shape import patch_shape
from orders.estimates.models import Method, RateBook
from orders.planning.models import Prescription
from orders.supplies.models import Price
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


def _page(client, address):
    reply = client.get(address)
    assert reply.status_code == 200, reply.content.decode()
    return reply.content.decode()


def _rows(shown):
    table = shown.partition('id="patches"')[2].partition("</table>")[0]
    return re.findall(r'<th scope="row" class="key"><a [^>]*>([^<]+)</a>', table)


def test_it_lists_the_patches_with_what_is_recommended(as_coordinator, ground):
    shown = _page(as_coordinator, "/patches/")
    assert _rows(shown) == [str(row) for row in (ground.pulled, ground.wide, ground.other)]
    assert "dormant-season foliar spray" in shown
    assert "Small or sparse enough to pull with the roots." in shown


@pytest.mark.parametrize(
    ("query", "codes"),
    [
        ("recommended=hand-pull", ["H-01"]),
        ("text=h-03", ["H-03"]),
        ("form=climbing", []),
        ("chosen=no", ["H-01", "H-02", "H-03"]),
        ("control_state=maintenance", []),
        ("sort=-area", ["H-03", "H-02", "H-01"]),
    ],
)
def test_it_keeps_the_question_in_the_address(as_coordinator, query, codes):
    shown = _page(as_coordinator, f"/patches/?{query}")
    assert sorted(row.split()[-1] for row in _rows(shown)) == sorted(codes)
    assert codes or "No patch answers this" in shown


def test_it_sorts_both_ways(as_coordinator):
    up, down = (_rows(_page(as_coordinator, f"/patches/?sort={sort}")) for sort in ("patch", "-patch"))
    assert up == down[::-1]


def test_it_shows_what_is_chosen_beside_what_is_recommended(as_coordinator, ground):
    ground.choose("spot-foliar", ground.wide, why="A class works there in January.")
    shown = _page(as_coordinator, "/patches/?chosen=yes")
    assert _rows(shown) == [str(ground.wide)]
    assert "Own choice: A class works there in January." in shown


def test_it_refuses_a_question_that_it_does_not_have(as_coordinator):
    assert as_coordinator.get("/patches/?sort=color").status_code == 400


def test_it_says_where_patches_come_from(client):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert "No surveyed patches yet" in _page(client, "/patches/")


def test_it_lets_the_office_read_and_only_the_desk_choose(client, ground):
    client.force_login(build.UserFactory(roles=["finance"]))
    assert "See what it would do" not in _page(client, "/patches/")
    client.force_login(build.UserFactory(roles=["crew_lead"]))
    assert client.get("/patches/").status_code == 403
    assert client.get(f"/patches/{ground.wide.public_id}/").status_code == 403


def test_it_puts_every_method_side_by_side(as_coordinator, ground):
    shown = _page(as_coordinator, f"/patches/{ground.wide.public_id}/")
    methods = re.findall(r'<tr[^>]* data-method="([^"]+)">', shown)
    assert methods[0] == "dormant-foliar"
    assert len(methods) == 12
    assert "Widespread and evergreen: spray it while natives are dormant." in shown
    assert "Cut-stem treatment does not treat this growth form." in shown


def test_it_links_the_estimates_and_the_choice(as_coordinator, ground):
    shown = _page(as_coordinator, f"/patches/{ground.wide.public_id}/")
    made = ground.look("dormant-foliar", ground.wide).new[0].estimate
    assert f"/estimates/{made.public_id}/" in shown
    assert f'name="patch" value="{ground.wide.public_id}"' in shown
    assert 'name="method" value="dormant-foliar"' in shown


def test_it_looks_ahead_and_says_what_holds_the_cover(as_coordinator, ground):
    shown = _page(as_coordinator, f"/patches/{ground.wide.public_id}/")
    assert "It is the repeated work that holds the cover." in shown
    assert "after about 6 months and is complete after 12 to 18" in shown
    ahead = shown.partition('id="ahead"')[2].partition("</table>")[0]
    assert ahead.count('<th scope="row">') == len(re.findall(r"<tr><th", ahead.partition("<tbody>")[2])) > 3


def test_it_tells_what_one_pass_saves(as_coordinator, ground):
    ground.choose("dormant-foliar", ground.wide)
    address = f"/patches/{ground.wide.public_id}/"
    assert "one pass" not in _page(as_coordinator, address)
    ground.choose("monitor", ground.wide, why="Look twice.", replace=False)
    assert "Work it in one pass" in _page(as_coordinator, address)


def test_it_draws_the_outline_from_the_patchs_own_geometry():
    shape = patch_shape(build.square(), "Outline & all")
    assert shape is not None
    assert shape.height_m == pytest.approx(111, abs=1)
    assert shape.width_m < shape.height_m
    assert "Outline &amp; all" in shape.svg
    assert patch_shape({"type": "Point", "coordinates": [-85, 38]}, "") is None


def test_it_shows_a_patch_without_a_survey(as_coordinator):
    shown = _page(as_coordinator, f"/patches/{build.PatchFactory().public_id}/")
    assert "No survey counts for this patch" in shown


def test_it_judges_a_patch_before_there_is_a_rate_book(as_coordinator, ground):
    RateBook.objects.update(state="retired", in_force_from=None)
    shown = _page(as_coordinator, f"/patches/{ground.wide.public_id}/")
    assert "No rate book is in force." in shown
    assert "Widespread and evergreen: spray it while natives are dormant." in shown


def test_it_says_why_the_years_ahead_cannot_be_estimated(as_coordinator, ground):
    Price.objects.exclude(code="usual").delete()
    mix = build.MixFactory(products=[(build.ProductFactory(code="unpriced"), 2.0, "herbicide")])
    Method.objects.filter(code="dormant-foliar").update(default_mix=mix)
    shown = _page(as_coordinator, f"/patches/{ground.wide.public_id}/")
    assert "The years ahead cannot be estimated" in shown
    assert "unpriced" in shown


def test_it_knows_no_other_patch(as_coordinator, ground):
    assert as_coordinator.get(f"/patches/{ground.world.season.public_id}/").status_code == 404
    assert not Prescription.objects.exists()


def test_it_puts_what_does_not_fit_apart_with_its_reasons(as_coordinator, ground):
    shown = _page(as_coordinator, f"/patches/{ground.wide.public_id}/")
    side_by_side, unfit = (
        shown.partition(f'<table id="{name}"')[2].partition("</table>")[0] for name in ("methods", "unfit")
    )
    assert 'data-method="cut-stem"' in unfit
    assert "Cut-stem treatment does not treat this growth form." in unfit
    assert 'data-method="cut-stem"' not in side_by_side
    count = unfit.count("data-method")
    assert f"{count} methods do not fit here, and why" in shown
