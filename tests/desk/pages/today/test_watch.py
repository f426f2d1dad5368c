"""The watch: deadlines with what stands behind them, checks, orders, hours, follow-ups, tablets and conflicts."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings

from orders.common.clock import now
from orders.reports.today.watching import closed_work, hours_by_week, seeds_by_week
from tests import build

pytestmark = pytest.mark.django_db


def local_today():
    return now().astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)).date()


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def season(db):
    today = local_today()
    return build.SeasonFactory(first_day=today - timedelta(days=100), last_day=today + timedelta(days=100))


def _deadline(season, patch, **more):
    return build.DeadlineFactory(kind="seed", patch=patch, site=patch.site, due_on=season.last_day, **more)


def test_it_says_what_stands_behind_a_seed_deadline(desk, season):
    for state in ("open", "planned", "ordered", "done"):
        patch = build.PatchFactory(code=f"P-{state}")
        _deadline(season, patch)
        build.PrescriptionFactory(season=season, patch=patch, state=state, seed_due_on=season.last_day)
    _deadline(season, build.PatchFactory(code="P-nothing"))
    page = desk.get("/watch/")
    found = {row.deadline.patch.code: row.behind for row in page.context["seeds"]}
    nothing = {"P-open": "none", "P-nothing": "none"}
    assert found == {**nothing, "P-planned": "planned", "P-ordered": "ordered", "P-done": "done"}
    assert [counts for _, counts in seeds_by_week(page.context["seeds"].paginator.object_list.facts)] == [(2, 1, 1, 1)]


def test_it_lists_checks_from_their_first_day_on(desk, season):
    today = local_today()
    due = build.PrescriptionFactory(season=season, purpose="check", first_day=today, last_day=today)
    build.PrescriptionFactory(
        season=season, purpose="check", first_day=today + timedelta(days=5), last_day=today + timedelta(days=9)
    )
    assert desk.get("/watch/").context["checks"] == [due]


def test_it_counts_orders_by_crew_and_those_behind(desk, season):
    crew = build.CrewFactory(name="Hollow crew")
    old = {"first_day": date(2020, 1, 1), "last_day": date(2020, 1, 2)}
    for state in ("draft", "issued", "closed"):
        build.WorkOrderFactory(season=season, crew=crew, state=state, **old)
    row = desk.get("/watch/").context["crews"][0]
    assert (row.crew, row.counts, row.behind) == ("Hollow crew", (1, 1, 0, 1, 0), 1)


def test_it_lays_planned_beside_actual_hours_of_closed_orders(desk, season):
    for state, minutes in (("closed", 120), ("issued", 999)):
        order = build.WorkOrderFactory(season=season, state=state, closed_at=now() if state == "closed" else None)
        same = {"order": order, "method_code": "hand-pull", "category": "labor"}
        build.CommitmentFactory(**same, minutes=100)
        build.LedgerEntryFactory(**same, quantity=minutes, unit="min")
    row = desk.get("/watch/").context["methods"][0]
    assert (row.planned_minutes, row.actual_minutes, row.ratio) == (100, 120, 1.2)
    assert [(planned, actual) for _, planned, actual in hours_by_week(closed_work(season))] == [(100, 120)]


def test_it_lists_follow_ups_that_have_no_day(desk, season):
    open_one = build.PrescriptionFactory(season=season, origin="follow_up", state="open")
    build.PrescriptionFactory(season=season, origin="follow_up", state="planned")
    assert list(desk.get("/watch/").context["follow_ups"]) == [open_one]


def test_it_leads_to_conflicts_and_tablets(desk, season):
    flag = build.FlagFactory(kind="held", state="open", title="Closed twice")
    device = build.DeviceFactory(name="Tablet 7")
    page = desk.get("/watch/").content.decode()
    assert f"/flags/{flag.public_id}/" in page
    assert f"/tablets/{device.public_id}/" in page


def test_it_stands_without_a_season(desk):
    assert "No season yet" in desk.get("/watch/").content.decode()


@pytest.mark.parametrize("part", ["seeds", "checks", "follow-ups", "orders", "hours"])
def test_it_gives_each_part_as_a_file(desk, season, part):
    build.WorkOrderFactory(season=season)
    reply = desk.get(f"/watch/{part}.csv?season={season.public_id}")
    assert reply["Content-Type"].startswith("text/csv")
    assert reply.content.decode().splitlines()[0].count(",") >= 2


def test_it_refuses_a_part_that_is_not_there(desk, season):
    assert desk.get("/watch/nothing.csv").status_code == 404


def test_it_is_not_for_finance(client, finance):
    client.force_login(finance)
    assert client.get("/watch/").status_code == 403


def test_it_refreshes_who_is_out_alone(desk):
    build.CheckInFactory(crew=build.CrewFactory(name="Ridge crew"), back_by=now() + timedelta(hours=1))
    piece = desk.get("/watch/out/").content.decode()
    assert "Ridge crew" in piece
    assert "<html" not in piece


def test_it_asks_the_same_number_of_times_for_many(desk, season, django_assert_max_num_queries):
    for number in range(15):
        patch = build.PatchFactory(code=f"P{number}")
        _deadline(season, patch)
        build.PrescriptionFactory(season=season, patch=patch, origin="follow_up", seed_due_on=season.last_day)
    with django_assert_max_num_queries(45):
        desk.get("/watch/")
