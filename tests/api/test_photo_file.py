"""A picture's bytes: for whoever may see its order, once they have come whole."""

from pathlib import Path

import pytest

from tests import build
from tests.api.caller import Caller
from tests.api.scene import lead_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def photo(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    made = build.PhotoFactory(state="whole")
    (Path(tmp_path) / str(made.public_id)).write_bytes(b"picture")
    return made


def get(caller, photo):
    return caller.get(f"/api/photos/{photo.public_id}/file")


def test_it_hands_out_the_bytes_as_they_came(desk, photo):
    reply = get(desk, photo)
    assert (reply.content, reply["Content-Type"]) == (b"picture", "image/jpeg")


def test_it_is_there_for_own_crews_alone(photo, finance):
    callers = (Caller(lead_of(photo.order.crew, "own")), Caller(lead_of(build.CrewFactory(), "other")), finance)
    assert [get(caller, photo).status_code for caller in callers] == [200, 404, 403]


def test_it_hands_out_nothing_before_it_is_whole(desk, photo):
    type(photo).objects.update(state="waiting")
    assert get(desk, photo).status_code == 404
