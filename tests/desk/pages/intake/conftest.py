import pytest

from tests import build
from tests.sites.files.reading import remember
from tests.sites.imports.conftest import mill

__all__ = ["mill"]


@pytest.fixture(autouse=True)
def _each_file_is_read_once(monkeypatch):
    remember(monkeypatch)


@pytest.fixture(autouse=True)
def _program(mill):
    for code in ("ground cover", "climbing", "shrub"):
        build.GrowthFormFactory(code=code)


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client
