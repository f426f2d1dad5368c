"""No list asks the database once more for each of its rows."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.common.changes import change_record
from orders.common.models import User
from tests import build
from tests.api.caller import Caller
from tests.api.lists import LISTS, list_views

pytestmark = pytest.mark.django_db


def _queries(caller: Any, path: str) -> int:
    caller.force_authenticate(User.objects.get(pk=caller.user.pk))  # roles are read once an instance
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert caller.get(path).status_code == 200
    return len(asked)


@pytest.fixture
def caller():
    return Caller(build.UserFactory(roles=["administrator", "coordinator"]))


def test_it_counts_every_list():
    assert set(list_views()) == set(LISTS)


@pytest.mark.parametrize("endpoint", LISTS)
def test_it_asks_as_often_for_many_rows_as_for_few(caller, endpoint):
    path, add = f"/api/{endpoint}?limit=200", LISTS[endpoint]
    for number in range(2):
        add(number)
    few = _queries(caller, path)
    for number in range(2, 12):
        add(number)
    rows = len(caller.get(path).json()["results"])
    assert rows >= 12
    assert _queries(caller, path) == few < 12


def _big_order(visits):
    order = build.WorkOrderFactory(number=900 + visits)
    for _ in range(visits):
        shares = [build.PrescriptionFactory() for _ in range(2)]
        build.OrderVisitFactory(order=order, visit=build.VisitFactory(prescriptions=shares))
        build.LimitOverrideFactory(order=order)
        fund = build.AwardFactory()
        build.OrderFundingFactory(order=order, fund=fund.fund, award=fund, share_e4=10)
    close_out = build.CloseOutFactory(order=order)
    for _ in range(visits):
        build.PatchOutcomeFactory(close_out=close_out)
        build.TimeEntryFactory(close_out=close_out, prescription=build.PrescriptionFactory())
        build.MaterialUseFactory(close_out=close_out, prescription=build.PrescriptionFactory())
    return order


@pytest.mark.parametrize("part", ["", "/close-outs"])
def test_it_asks_as_often_for_a_large_order_as_for_a_small_one(caller, part):
    counts = {_queries(caller, f"/api/work-orders/{_big_order(visits).public_id}{part}") for visits in (1, 6)}
    assert len(counts) == 1


def test_it_asks_as_often_for_much_stock_as_for_little(caller):
    build.StockLotFactory.create_batch(2)
    few = _queries(caller, "/api/stock")
    build.StockLotFactory.create_batch(8)
    assert _queries(caller, "/api/stock") == few


def test_it_asks_as_often_for_a_long_checklist_as_for_a_short_one(caller):
    site = build.SiteFactory()
    counts = set()
    for _ in range(2):
        for _ in range(3):
            build.ChecklistAnswerFactory(site=site, answered_by=build.UserFactory())
        counts.add(_queries(caller, f"/api/sites/{site.public_id}/checklist"))
    assert len(counts) == 1


def test_it_asks_as_often_for_many_changes_as_for_few(caller, stamp):
    counts = set()
    for _ in range(2):
        for _ in range(4):
            change_record(stamp=stamp, verb="site_add", entity=build.SiteFactory(), after={})
        counts.add(_queries(caller, "/api/changes"))
    assert len(counts) == 1


def _planned_visits(season, crew):
    for _ in range(3):
        asked = build.PrescriptionFactory(season=season, seed_due_on="2027-08-18")
        build.VisitFactory(season=season, crew=crew, prescriptions=[asked])


@pytest.mark.parametrize("part", ["calendar", "load", "cost-course"])
def test_it_asks_as_often_for_a_full_season_as_for_an_empty_one(caller, part):
    season, crew = build.SeasonFactory(), build.CrewFactory(people=2)
    counts = set()
    for _ in range(2):
        _planned_visits(season, crew)
        counts.add(_queries(caller, f"/api/seasons/{season.public_id}/{part}"))
    assert len(counts) == 1


def test_it_asks_as_often_for_a_large_visit_as_for_a_small_one(caller):
    sizes = (1, 6)
    visits = [build.VisitFactory(prescriptions=build.PrescriptionFactory.create_batch(size)) for size in sizes]
    assert len({_queries(caller, f"/api/visits/{visit.public_id}") for visit in visits}) == 1


def test_it_asks_as_often_to_compare_many_plans_as_few(caller):
    figures: dict[str, object] = {
        "area_m2": 1.0,
        "deadlines_met": 0,
        "deadlines_owed": 0,
        "cost_cents": 1,
        "person_hours": 1.0,
    }
    figures |= {"visits": 1, "left_out": 0, "by_fund": {}}
    runs = [build.PlanRunFactory(state="done", figures=figures) for _ in range(6)]
    counts = {
        _queries(caller, f"/api/plan-runs/compare?run={','.join(str(run.public_id) for run in runs[:count])}")
        for count in (2, 6)
    }
    assert len(counts) == 1
