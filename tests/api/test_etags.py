"""Validators: who has it already gets nothing anew."""

import pytest

from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def address():
    return f"/api/sites/{build.SiteFactory(name='Hollow').public_id}"


def test_it_sends_nothing_to_who_has_it(lead, address):
    etag = lead.get(address).headers["ETag"]
    for named in (etag, f"W/{etag}", f'"other", {etag}', "*"):
        reply = lead.get(address, headers={"If-None-Match": named})
        assert (reply.status_code, reply.content, reply.headers["ETag"]) == (304, b"", etag)


def test_it_sends_what_has_changed(scene):
    caller = scene.as_("coordinator")
    etag = caller.get(scene.address).headers["ETag"]
    scene.issue()
    caller.send(f"{scene.address}/visits/{scene.visit.public_id}/not-done", {"reason": "Rain."})
    assert caller.get(scene.address, headers={"If-None-Match": etag}).status_code == 200


def test_it_sends_what_a_part_of_it_changed(scene):
    scene.issue()
    caller = scene.as_("lead")
    etag = caller.get(scene.address).headers["ETag"]
    version = caller.get(scene.address).json()["version"]
    caller.send(f"{scene.address}/visits/{scene.visit.public_id}/not-done", {"reason": "Rain."})
    reply = caller.get(scene.address, headers={"If-None-Match": etag})
    assert (reply.status_code, reply.json()["version"]) == (200, version)


def test_it_gives_a_strong_one(lead, address):
    etag = lead.get(address).headers["ETag"]
    assert etag.startswith('"')
    assert etag.endswith('"')


def test_it_keeps_replies_out_of_shared_caches(lead, address):
    assert lead.get(address).headers["Cache-Control"] == "private, no-cache"


def test_it_differs_where_others_are_shown_less(scene):
    scene.issue()
    etags = {scene.as_(name).get(scene.address).headers["ETag"] for name in ("lead", "finance")}
    assert len(etags) == 2
