"""What the office does on the page of an order: what keeps it back, each act, and refusals beside their forms."""

import html
from datetime import date

import pytest
from django.urls import reverse

from orders.workorders.models import LimitOverride, WorkOrder
from orders.workorders.selectors import order_visits
from tests import build
from tests.api.scene import scene_build
from tests.workorders.orders import herbicide, spray_order

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene(client):
    made = scene_build()
    client.force_login(made.users["coordinator"])
    return made


def _page(client, order):
    return html.unescape(client.get(reverse("order", args=[order.public_id])).content.decode())


def _act(client, order, code, **said):
    return client.post(reverse("order-act", args=[order.public_id, code]), said)


def _state(scene):
    return WorkOrder.objects.get(pk=scene.order.pk).state


def test_it_issues_what_nothing_keeps(client, scene):
    assert "Nothing keeps it from being issued" in _page(client, scene.order)
    assert _act(client, scene.order, "issue").status_code == 302
    assert _state(scene) == "issued"


def test_it_lists_what_keeps_an_order_before_anybody_presses(client, scene):
    build.ChecklistQuestionFactory(code="owner", question="Has the owner agreed?")
    scene.order.funding.all().delete()
    page = _page(client, scene.order)
    for told in ("What keeps it from being issued", "Has the owner agreed? Not answered.", "Say which fund pays"):
        assert told in page
    assert f"{reverse('site-checklist', args=[scene.order.site.public_id])}?order={scene.order.public_id}" in page
    assert "Issue it</button>" not in page


def test_a_refused_issue_is_told_on_the_page(client, scene):
    scene.order.funding.all().delete()
    reply = _act(client, scene.order, "issue")
    assert (reply.status_code, _state(scene)) == (400, "draft")


def test_it_funds_a_draft(client, scene):
    scene.order.funding.all().delete()
    scene.order.refresh_from_db()
    said = {"payer_1": str(scene.world.fund.public_id), "share_1": "60", "version": scene.order.version}
    assert "add up" in _act(client, scene.order, "fund", **said).content.decode()
    assert _act(client, scene.order, "fund", **{**said, "share_1": "100"}).status_code == 302
    assert scene.order.funding.count() == 1


def test_it_saves_instructions_and_refuses_those_of_an_old_page(client, scene):
    scene.order.refresh_from_db()
    said = {"instructions": "Park at the barn.", "version": scene.order.version}
    assert _act(client, scene.order, "instruct", **said).status_code == 302
    assert "Park at the barn." in _page(client, scene.order)
    assert _act(client, scene.order, "instruct", **said).status_code == 412


def test_it_gives_an_order_to_another_crew(client, scene):
    said = {"crew": str(scene.other_crew.public_id), "reason": "Sick crew."}
    assert _act(client, scene.order, "reassign", **said).status_code == 302
    assert WorkOrder.objects.get(pk=scene.order.pk).crew == scene.other_crew


def test_it_calls_a_visit_off_with_a_reason(client, scene):
    scene.issue()
    said = {"visit": str(scene.visit.public_id)}
    assert _act(client, scene.order, "call-off", **said, reason="").status_code == 400
    assert _act(client, scene.order, "call-off", **said, reason="Rain.").status_code == 302
    assert order_visits(scene.order)[0].not_done_reason == "Rain."


def test_it_voids_and_lets_it_stand_again(client, scene):
    scene.issue()
    assert _act(client, scene.order, "void", reason="").status_code == 400
    assert _act(client, scene.order, "void", reason="Not needed.").status_code == 302
    assert _state(scene) == "void"
    assert "Let it stand again" in _page(client, scene.order)
    assert _act(client, scene.order, "restore", reason="They had been there.").status_code == 302
    assert _state(scene) == "issued"


def test_it_tells_a_refusal_beside_the_form_and_keeps_what_was_typed(client, scene):
    scene.issue()
    _act(client, scene.order, "void", reason="Not needed.")
    build.VisitFactory(season=scene.world.season, prescriptions=[scene.prescription])
    reply = _act(client, scene.order, "restore", reason="They had been there.")
    page = html.unescape(reply.content.decode())
    assert (reply.status_code, "is taken" in page, "They had been there." in page) == (409, True, True)


def test_a_draft_that_was_void_does_not_stand_again(client, scene):
    _act(client, scene.order, "void", reason="Not needed.")
    assert "Let it stand again" not in _page(client, scene.order)


def test_acts_are_for_those_whom_the_api_lets(client, scene):
    for name in ("finance", "lead", "pesticide_supervisor"):
        client.force_login(scene.users[name])
        assert _act(client, scene.order, "void", reason="x").status_code == 403
    client.force_login(scene.users["finance"])
    page = _page(client, scene.order)
    assert ("Who pays" in page, "Void it" in page) == (True, False)


def test_it_knows_no_other_acts(client, scene):
    assert _act(client, scene.order, "burn").status_code == 404


def test_it_lets_a_policy_limit_pass_with_name_and_reason_and_never_a_mandatory_one(client, db):
    client.force_login(build.UserFactory(roles=["pesticide_supervisor"]))
    order = spray_order(product=herbicide(reviewed_on=date(2024, 1, 1)))
    page = _page(client, order)
    assert "Limits that it passes" in page
    assert 'value="review-too-old"' in page
    said = {"limit_kind": "program-policy", "limit": "review-too-old"}
    assert _act(client, order, "override", **said, reason="").status_code == 400
    assert _act(client, order, "override", **said, reason="Read again today.").status_code == 302
    assert LimitOverride.objects.get().reason == "Read again today."
    assert "Limits that it passes" not in _page(client, order)
    mandatory = {"limit_kind": "label-mandatory", "limit": "year-cap", "reason": "All the same."}
    assert _act(client, order, "override", **mandatory).status_code == 400
    assert LimitOverride.objects.count() == 1


def test_it_offers_no_way_past_a_mandatory_limit(client, coordinator):
    client.force_login(coordinator)
    page = _page(client, spray_order(milliliters=9_000, product=herbicide()))
    assert "Nobody may let this pass" in page
    assert "Let it pass, with my name" not in page
