"""Two requests of one browser that overlap: neither takes back what the other wrote."""

import pytest
from django.conf import settings
from django.contrib.sessions.backends import db
from django.contrib.sessions.backends.base import UpdateError
from django.urls import reverse

from orders.common.sessions import SessionStore
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def key():
    made = SessionStore()
    made.update({"marks": [1], "kept": {"a": 1}, "said": "before"})
    made.save()
    return made.session_key


def _held(key):
    return dict(SessionStore(key).items())


def _read(key):
    """As a request does that looks at it first."""
    store = SessionStore(key)
    store.get("marks")
    return store


def test_it_writes_what_it_changed_over_what_is_there_by_then(key):
    slow, quick = _read(key), _read(key)
    quick["edited"] = "3 patches"
    del quick["said"]
    quick.save()
    slow["marks"] = [1, 2]
    slow.save()
    assert _held(key) == {"marks": [1, 2], "kept": {"a": 1}, "edited": "3 patches"}
    assert dict(slow.items()) == _held(key)


def test_it_sees_a_change_within_a_value_and_the_later_of_two_wins(key):
    first, second = _read(key), _read(key)
    first["marks"] = [5]
    first.save()
    second["kept"]["b"] = 2
    second["marks"] = [6]
    second.save()
    assert _held(key) == {"marks": [6], "kept": {"a": 1, "b": 2}, "said": "before"}


def test_a_store_saves_more_than_once(key):
    store, other = _read(key), _read(key)
    store["marks"] = [2]
    store.save()
    other["said"] = "after"
    other.save()
    store["kept"] = {}
    store.save()
    assert _held(key) == {"marks": [2], "kept": {}, "said": "after"}


def test_a_new_key_keeps_everything(key):
    store = _read(key)
    store.cycle_key()
    store["who"] = 1
    store.save()
    assert _held(store.session_key) == {"marks": [1], "kept": {"a": 1}, "said": "before", "who": 1}
    assert not store.exists(key)


def test_what_was_logged_out_meanwhile_stays_so(key):
    store = _read(key)
    SessionStore(key).flush()
    store["marks"] = [2]
    with pytest.raises(UpdateError):
        store.save()
    assert _held(key) == {}


def test_sessions_of_before_stay_good():
    old = db.SessionStore()
    old["marks"] = [7]
    old.save()
    assert _held(old.session_key) == {"marks": [7]}


def test_the_program_uses_it(client):
    assert SessionStore.__module__ == settings.SESSION_ENGINE
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert client.get(reverse("map")).status_code == 200
    assert isinstance(client.session, SessionStore)
