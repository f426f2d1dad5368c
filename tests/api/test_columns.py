"""A list read straight from the columns shows what its serializer shows."""

import pytest

from tests import build
from tests.api.caller import Caller
from tests.api.lists import LISTS, list_views

pytestmark = pytest.mark.django_db
FROM_COLUMNS = [endpoint for endpoint, view in list_views().items() if view.from_columns]


def test_it_reads_the_long_lists_that_way():
    assert {"work-orders", "visits", "patches", "ledger"} <= set(FROM_COLUMNS)


@pytest.mark.parametrize("endpoint", FROM_COLUMNS)
def test_it_shows_the_same_as_the_serializer(monkeypatch, endpoint):
    caller = Caller(build.UserFactory(roles=["administrator", "coordinator"]))
    for number in range(4):
        LISTS[endpoint](number)
    quick = caller.rows(f"/api/{endpoint}?limit=3")
    monkeypatch.setattr(list_views()[endpoint], "from_columns", False)
    assert caller.rows(f"/api/{endpoint}?limit=3") == quick
    assert len(quick) >= 4


def test_it_leaves_out_what_the_reader_may_not_see(monkeypatch):
    patches = list_views()["patches"]
    monkeypatch.setattr(patches.row, "only_for", {"site": frozenset({"finance"})})
    build.PatchFactory()
    shown = [Caller(build.UserFactory(roles=[role])).rows("/api/patches")[0] for role in ("finance", "coordinator")]
    assert ["site" in row for row in shown] == [True, False]


def test_it_shows_null_for_what_is_not_there(finance):
    build.LedgerEntryFactory(person=None, person_type="")
    assert finance.rows("/api/ledger")[0]["person"] is None
