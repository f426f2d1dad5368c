import pytest

from tests.sites.files.reading import remember
from tests.sites.imports.conftest import mill

__all__ = ["mill"]


@pytest.fixture(autouse=True)
def _each_file_is_read_once(monkeypatch):
    remember(monkeypatch)


@pytest.fixture(autouse=True)
def _forms(db):
    from tests import build

    for code in ("ground cover", "climbing", "shrub"):
        build.GrowthFormFactory(code=code)
