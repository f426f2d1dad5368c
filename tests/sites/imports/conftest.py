import pytest

from orders.sites.geofiles.reading import read_file
from tests import build

ALREADY_READ: dict[tuple[object, ...], object] = {}


@pytest.fixture
def mill(db):
    """The site that the files speak of, with the species that grow there."""
    build.SpeciesFactory(code="EUFO", scientific_name="Euonymus fortunei", common_name="wintercreeper")
    build.SpeciesFactory(code="LOMA", scientific_name="Lonicera maackii", common_name="Amur honeysuckle")
    return build.SiteFactory(code="MILL", boundary=build.square(side=0.01))


@pytest.fixture(autouse=True)
def _each_file_is_read_once(monkeypatch):
    """Each different file goes through the reader's own process for real; the same one again does not wait for it."""

    def remembered(data, filename, limits, layer, *, mapping):
        asked = (data, filename, limits, layer, repr(mapping))
        if asked not in ALREADY_READ:
            ALREADY_READ[asked] = read_file(data, filename, limits, layer, mapping=mapping)
        return ALREADY_READ[asked]

    monkeypatch.setattr("orders.sites.runs.read_file", remembered)
