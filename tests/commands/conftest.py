"""One tablet, and a kind of command of the tests' own: it writes a word, refuses, or breaks."""

from datetime import UTC, datetime

import pytest

from orders.bodies.base import Body
from orders.bodies.fields import Text
from orders.commands.heard import KINDS, Kind
from orders.common.errors import FieldError, WrongState
from orders.common.models import Role
from orders.field.services.commands import Contact
from tests import build
from tests.commands.season import season_build
from tests.commands.sender import Sender

RECEIVED = datetime(2027, 2, 1, 22, tzinfo=UTC)


class WordIn(Body):
    word = Text(max_length=40)


def _hear(heard):
    Role.objects.create(code=heard.body["word"], name=heard.user.username)
    if heard.body["word"].startswith("no"):
        raise WrongState("It cannot be said.", [FieldError("word", "is refused")], {"state": "shy"})
    if heard.body["word"].startswith("bug"):
        raise ZeroDivisionError


@pytest.fixture(autouse=True)
def word_kind(monkeypatch):
    monkeypatch.setitem(KINDS, "word", Kind("word", WordIn, _hear))
    monkeypatch.setitem(KINDS, "order-word", Kind("order-word", WordIn, _hear, needs_order=True))


@pytest.fixture
def words(db):
    """What has been written, in its order."""
    before = set(Role.objects.values_list("pk", flat=True))
    return lambda: list(Role.objects.exclude(pk__in=before).order_by("pk").values_list("code", flat=True))


@pytest.fixture
def sender(db):
    user = build.UserFactory(username="lead", roles=["crew_lead"])
    return Sender(build.DeviceFactory(users=[user]), user)


@pytest.fixture
def contact(sender):
    return Contact(sender.device, RECEIVED)


@pytest.fixture
def season(sender, contact):
    return season_build(sender, contact)
