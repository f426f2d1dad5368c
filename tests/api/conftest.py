"""A fixed clock, a cache of its own, and the people who call."""

from datetime import UTC, datetime

import pytest
import time_machine
from django.core.cache import cache

from tests import build
from tests.api.caller import Caller
from tests.api.scene import scene_build

NOW = datetime(2026, 12, 1, 15, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=True) as traveller:
        yield traveller


@pytest.fixture(autouse=True)
def _own_cache(settings):
    """Throttles count in the cache: no test may count for another."""
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "api"}}
    cache.clear()


@pytest.fixture
def scene(db):
    return scene_build()


@pytest.fixture
def desk(db):
    return Caller(build.UserFactory(username="desk", roles=["coordinator"]))


@pytest.fixture
def finance(db):
    return Caller(build.UserFactory(username="money", roles=["finance"]))


@pytest.fixture
def lead(db):
    return Caller(build.UserFactory(username="leader", roles=["crew_lead"]))


@pytest.fixture
def nobody():
    return Caller()
