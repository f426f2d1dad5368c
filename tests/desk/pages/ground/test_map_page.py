"""The page of the map without its script: the list, the marks, and what is done with the marked patches."""

import re
from urllib.parse import parse_qs, urlsplit

import pytest
import time_machine
from django.core.cache import cache

from orders.common.models import Change
from orders.desk.selection import KEPT
from orders.sites.models import Patch
from tests import build
from tests.desk.pages.ground.map_world import map_build

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock():
    cache.clear()
    with time_machine.travel("2027-07-01T15:00:00+00:00", tick=False):
        yield


@pytest.fixture
def world(db):
    return map_build()


@pytest.fixture
def as_coordinator(client, coordinator, world):
    client.force_login(coordinator)
    return client


def _page(client, query=""):
    reply = client.get(f"/map/?{query}")
    assert reply.status_code == 200, reply.content.decode()
    return reply.content.decode()


def _rows(shown):
    return re.findall(r'<th scope="row" class="key"><a [^>]*>([^<]+)</a>', shown)


def _checked(shown):
    return {int(number) for number in re.findall(r'name="patch" value="(\d+)" checked', shown)}


def _act(client, act, world, marked=(), **more):
    """As a browser without scripts sends the list of six rows."""
    listed = " ".join(str(patch.pk) for patch in world.patches)
    sent = {"act": act, "listed": listed, "patch": [patch.pk for patch in marked], "back": "by=state", **more}
    return client.post("/map/act/", sent)


def test_it_lists_what_the_map_shows(as_coordinator):
    assert _rows(_page(as_coordinator)) == [
        *("ALDER M-000", "ALDER M-003", "BRACKEN M-001", "BRACKEN M-004", "CEDAR M-002", "CEDAR M-005"),
    ]


def test_it_sorts_by_the_measure_both_ways(as_coordinator):
    codes = [row.split()[1] for row in _rows(_page(as_coordinator, "sort=-value"))]
    assert codes == [f"M-00{number}" for number in (5, 4, 3, 2, 1, 0)]
    assert _rows(_page(as_coordinator, "sort=value"))[0] == "ALDER M-000"
    assert _rows(_page(as_coordinator, "by=deadline&sort=-value"))[:2] == ["BRACKEN M-004", "ALDER M-000"]


def test_it_leaves_out_classes_that_the_legend_switches_off(as_coordinator):
    shown = _page(as_coordinator, "by=state&legend=state&shown=maintenance&shown=eradicated")
    assert _rows(shown) == ["CEDAR M-002", "CEDAR M-005"]
    assert "Every class of the legend" in _page(as_coordinator, "by=state&legend=state&shown=eradicated")


def test_it_forgets_the_legend_of_another_measure(as_coordinator):
    assert len(_rows(_page(as_coordinator, "by=cover&legend=state&shown=maintenance"))) == 6


def test_it_says_when_no_patch_answers(as_coordinator):
    assert "No patch answers this" in _page(as_coordinator, "text=nowhere")


def test_it_says_where_patches_come_from(client, coordinator):
    client.force_login(coordinator)
    assert "No surveyed patches yet" in _page(client)


def test_it_opens_to_the_office_and_only_the_desk_changes_patches(client, world):
    client.force_login(build.UserFactory(roles=["finance"]))
    shown = _page(client)
    assert 'value="export"' in shown
    assert 'value="methods"' not in shown
    for act in ("methods", "merge", "edit"):
        assert _act(client, act, world, world.patches[:1], control_state="maintenance", reason="x").status_code == 403
    client.force_login(build.UserFactory(roles=["crew_lead"]))
    assert client.get("/map/").status_code == 403
    assert client.get(f"/map/card/?n={world.patch(0).pk}").status_code == 403
    assert client.post("/map/marks/", {"scripts": "yes", "marks": "1"}).status_code == 403


def test_it_keeps_marks_through_filters_until_they_are_cleared(as_coordinator, world):
    _act(as_coordinator, "keep", world, [world.patch(1), world.patch(4)])
    kept = {world.patch(1).pk, world.patch(4).pk}
    assert _checked(_page(as_coordinator, "site=BRACKEN&by=order")) == kept
    assert _checked(_page(as_coordinator, "site=CEDAR")) == set()
    one = {"act": "keep", "listed": str(world.patch(2).pk), "patch": [world.patch(2).pk]}
    as_coordinator.post("/map/act/", one)
    assert _checked(_page(as_coordinator)) == kept | {world.patch(2).pk}
    _act(as_coordinator, "clear", world)
    assert _checked(_page(as_coordinator)) == set()


def test_it_marks_all_that_are_shown(as_coordinator, world):
    back = "by=state&legend=state&shown=maintenance"
    assert _act(as_coordinator, "all", world, back=back).headers["Location"] == f"/map/?{back}"
    assert _checked(_page(as_coordinator)) == {world.patch(2).pk, world.patch(5).pk}


def test_it_takes_the_marks_of_the_script_as_they_are(as_coordinator, world):
    marks = {"scripts": "yes", "marks": f"{world.patch(0).pk} {world.patch(3).pk}"}
    assert as_coordinator.post("/map/marks/", marks).status_code == 204
    assert _checked(_page(as_coordinator)) == {world.patch(0).pk, world.patch(3).pk}
    assert as_coordinator.post("/map/marks/", {"scripts": "yes", "marks": "1 x"}).status_code == 400


@pytest.mark.parametrize(("act", "path"), [("merge", "/patches/merge/"), ("export", "/surveys/export/")])
def test_it_leads_on_with_the_marked_patches(as_coordinator, world, act, path):
    reply = _act(as_coordinator, act, world, [world.patch(3), world.patch(0)])
    to = urlsplit(reply.headers["Location"])
    assert to.path == path
    kept = as_coordinator.session[KEPT][parse_qs(to.query)["selection"][0]]
    assert kept == [world.patch(0).pk, world.patch(3).pk]


def test_it_leads_to_the_methods_of_the_maps_season(as_coordinator, world):
    reply = _act(as_coordinator, "methods", world, [world.patch(0)])
    assert reply.headers["Location"].startswith(f"/seasons/{world.season.public_id}/prescribe/?selection=")


def test_it_refuses_an_act_without_marks(as_coordinator, world):
    reply = _act(as_coordinator, "export", world)
    assert reply.status_code == 400
    assert "No patch is marked." in reply.content.decode()


def test_it_refuses_an_act_that_it_does_not_have(as_coordinator, world):
    assert _act(as_coordinator, "paint", world, [world.patch(0)]).status_code == 400


def test_it_changes_what_is_wanted_of_the_marked_patches_and_puts_it_back(as_coordinator, world):
    marked = [world.patch(0), world.patch(2)]
    _act(as_coordinator, "edit", world, marked, control_state="maintenance", target_cover="8", reason="Held two years")
    rows = {row.code: (row.control_state, row.target_cover) for row in Patch.objects.all()}
    assert (rows["M-000"], rows["M-002"]) == (("maintenance", 0.08), ("maintenance", 0.08))
    assert rows["M-001"] == ("under_treatment", 0.15)
    shown = _page(as_coordinator)
    assert "2 patches changed: control state maintenance, target cover 8%." in shown
    (undo,) = re.findall(r'action="(/map/undo/[^"]+)"', shown)
    assert as_coordinator.post(undo, {"back": "by=state"}).headers["Location"] == "/map/?by=state"
    rows = {row.code: (row.control_state, row.target_cover) for row in Patch.objects.all()}
    assert (rows["M-000"], rows["M-002"]) == (("untreated", 0.15), ("maintenance", 0.15))
    assert set(Change.objects.filter(entity="patch").values_list("verb", "reason")) == {
        ("patches_edit", "Held two years"),
        ("patches_edit_undo", ""),
    }
    assert "/map/undo/" not in _page(as_coordinator)


def test_it_keeps_the_marks_where_an_edit_is_refused(as_coordinator, world):
    reply = _act(as_coordinator, "edit", world, [world.patch(1)], control_state="maintenance")
    assert reply.status_code == 400
    assert "reason" in reply.content.decode()
    assert _checked(_page(as_coordinator)) == {world.patch(1).pk}
    assert not Change.objects.filter(entity="patch").exists()


def test_it_shows_a_card_with_what_leads_on(as_coordinator, world):
    card = as_coordinator.get(f"/map/card/?by=hours&n={world.patch(0).pk}").content.decode()
    assert f"/patches/{world.patch(0).public_id}/" in card
    order = world.season.work_orders.get(order_visits__visit__shares__prescription__patch=world.patch(0))
    assert f"/orders/{order.public_id}/" in card
    assert "Jul 5, 2027, on an order" in card
    assert "hand pulling" in card
    assert as_coordinator.get("/map/card/?n=999999").status_code == 404


def test_it_leads_nowhere_else(as_coordinator, world):
    reply = _act(as_coordinator, "keep", world, back="//evil.example/?x")
    assert reply.headers["Location"].startswith("/map/?")
